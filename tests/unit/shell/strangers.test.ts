import { describe, expect, it } from 'vitest'
import { createStrangers } from '../../../src/shell/strangers.ts'

function strangers(declared: readonly string[] = ['bench', 'north']) {
  const told: string[] = []
  return { told, strangers: createStrangers(declared, (text) => told.push(text)) }
}

describe('a node that the site file', () => {
  it('declares is none of the strangers, and nothing is told of it', () => {
    const { strangers: known, told } = strangers()
    expect(['bench', 'north', 'bench'].map((node) => known.isOne(node))).toEqual([false, false, false])
    expect(told).toEqual([])
  })

  it('does not declare is told once, with the names that are', () => {
    const { strangers: known, told } = strangers()
    for (let times = 0; times < 3; times++) expect(known.isOne('nroth')).toBe(true)
    expect(told).toEqual([
      'Node "nroth" is not in the site file, so nothing it says is taken; the site’s nodes are bench, north. ' +
        'Correct its name there or in the node.',
    ])
  })

  it('cannot declare, since every object inherits its name, is a stranger like any other', () => {
    const { strangers: known } = strangers()
    expect(['constructor', '__proto__', 'toString'].map((node) => known.isOne(node))).toEqual([true, true, true])
  })
})

describe('ten thousand invented names', () => {
  it('are told as eight and one last word', () => {
    const { strangers: known, told } = strangers()
    for (let at = 0; at < 10_000; at++) expect(known.isOne(`node-${at}`)).toBe(true)
    expect(told).toHaveLength(9)
    expect(told[7]).toContain('"node-7"')
    expect(told[8]).toBe(
      'More than 8 nodes that are not in the site file send messages. None is taken, and no more names are told; ' +
        'look at who may write to the broker.',
    )
    expect(known.isOne('bench')).toBe(false)
  })

  it('that differ after 48 letters only are one name, however long they are', () => {
    const { strangers: known, told } = strangers()
    const long = 'x'.repeat(60_000)
    for (let at = 0; at < 100; at++) expect(known.isOne(`${long}${at}`)).toBe(true)
    expect(told).toHaveLength(1)
    expect(told[0]!.length).toBeLessThan(250)
  })
})
