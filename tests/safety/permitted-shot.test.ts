import { describe, expect, it } from 'vitest'
import { PermittedShot, takeMaker } from '../../src/safety/permitted-shot.ts'
import { readyBench } from './bench.ts'

describe('a permitted shot', () => {
  const shot = readyBench().mustWish('nitrate', 5000)

  it('carries all a node needs, and nothing can be changed in it', () => {
    expect({ ...shot }).toEqual({
      id: 'c-1-1',
      node: 'bench',
      pump: 'pump-3',
      stock: 'nitrate',
      planId: 'plan-1',
      volumeUl: 5000,
      runMs: 10_000,
      boot: 'boot-1',
      // an hour and forty minutes since the node’s boot, and the start window of a minute
      startBeforeUptimeMs: 101 * 60_000,
      controller: 'keeper',
      term: 1,
    })
    expect(() => Object.assign(shot, { runMs: 60_000 })).toThrow()
  })

  it('is a shot only as judge made it: text, copies and look-alikes are not', () => {
    expect(PermittedShot.is(shot)).toBe(true)
    expect(PermittedShot.is({ ...shot })).toBe(false)
    expect(PermittedShot.is(JSON.parse(JSON.stringify(shot)))).toBe(false)
    expect(PermittedShot.is(structuredClone(shot))).toBe(false)
    expect(PermittedShot.is(Object.create(PermittedShot.prototype))).toBe(false)
    expect(PermittedShot.is(null)).toBe(false)
    expect(PermittedShot.is('shot')).toBe(false)
  })

  it('cannot be made by anybody else, not even through its own constructor', () => {
    const Maker = shot.constructor as unknown as new (key: symbol, fields: object) => unknown
    expect(() => new Maker(Symbol('judged'), { ...shot })).toThrow('only judge')
    expect(() => takeMaker()).toThrow('already taken')
  })
})
