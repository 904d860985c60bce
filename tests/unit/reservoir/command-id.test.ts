import { describe, expect, it } from 'vitest'
import { commandIdOf } from '../../../src/reservoir/command-id.ts'
import { controllerName } from '../../../src/shell/installation.ts'

describe('a command', () => {
  it('of one ledger never has the name of one of another ledger, whatever their terms and counts', () => {
    const [one, other] = [controllerName('quarry-lane', undefined), controllerName('quarry-lane', undefined)]
    expect(one).not.toBe(other)
    expect(commandIdOf(one, 1, 1)).not.toBe(commandIdOf(other, 1, 1))
    expect(commandIdOf(one, 1, 1)).toMatch(/^[0-9a-f]{6}-1-1$/)
  })

  it('of a controller without a ledger is its term and count', () => {
    expect(commandIdOf('trial', 3, 12)).toBe('3-12')
    expect(commandIdOf(null, null, 1)).toBe('0-1')
  })
})

describe('the name of a daemon', () => {
  it('stays with its ledger over every start, and with no other', () => {
    const name = controllerName('quarry-lane', undefined)
    expect(controllerName('quarry-lane', name)).toBe(name)
    expect(controllerName('quarry-lane', 'tarnward-quarry-lane')).not.toBe('tarnward-quarry-lane')
    expect(controllerName('weir', name)).not.toBe(name)
  })

  it('of the longest site fits the contract', () => {
    expect(controllerName('a'.repeat(48), undefined)).toHaveLength(64)
  })
})
