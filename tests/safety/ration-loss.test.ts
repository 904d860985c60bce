import { describe, expect, it } from 'vitest'
import type { Limits, RationLimits } from '../../src/safety/limits.ts'
import { coveredLoss, lossFacts } from '../../src/safety/ration-facts.ts'
import { type ProbeFacts, waterFacts } from '../../src/safety/water-facts.ts'
import { DAY, HOUR, LIMITS, readyBench } from './bench.ts'

const RATION: RationLimits = {
  ...{ reason: 'a crop starves', covers: ['conductivity'], lastsMs: DAY },
  stocks: [{ stock: 'nitrate', ulPerL: 2000, dayMaxUl: 9000 }],
}
const SITE: Limits = { ...LIMITS, ration: RATION }
const AGE_MAX = LIMITS.scanAgeMaxMs

/** The water of a bench where all is well, with something else said of single probes. */
function waterWith(change: Readonly<Record<string, Partial<ProbeFacts>>>) {
  const bench = readyBench(SITE)
  const water = waterFacts(SITE, bench.state, bench.atMs)
  return { ...water, probes: water.probes.map((probe) => ({ ...probe, ...change[probe.id] })) }
}

const lostOf = (change: Parameters<typeof waterWith>[0], limits = SITE) =>
  lossFacts(limits, waterWith(change)).lost.map(({ id }) => id)

describe('a probe that a ration may do without', () => {
  it.each<[string, Partial<ProbeFacts>, boolean]>([
    ['read this moment', { ageMs: 0 }, false],
    ['read in time to come', { ageMs: -1 }, true],
    ['as old as a scan may be', { ageMs: AGE_MAX }, false],
    ['a millisecond older', { ageMs: AGE_MAX + 1 }, true],
    ['never read', { ageMs: Number.NaN }, true],
    ['that changed just now', { sameForMs: 0 }, false],
    ['that stood still since a moment to come', { sameForMs: -1 }, true],
    ['a millisecond before it is stuck', { sameForMs: 6 * HOUR - 1 }, false],
    ['stuck', { sameForMs: 6 * HOUR }, true],
    ['of unknown stillness', { sameForMs: Number.NaN }, true],
    ['in doubt of itself', { quality: 'uncertain' }, true],
    ['bad by its own word', { quality: 'bad' }, true],
    ['of no quality', { quality: null }, true],
    ['that reads no number', { value: Number.NaN }, true],
    ['that reads more than any number', { value: Number.POSITIVE_INFINITY }, true],
    ['out of its range, but well', { value: 9 }, false],
  ])('%s', (_what, change, isLost) => {
    expect(lostOf({ 'ec-1': change })).toEqual(isLost ? ['ec-1'] : [])
  })

  it('is none where the limits have no ration', () => {
    expect(lossFacts(LIMITS, waterWith({ 'ec-1': { quality: 'bad' } }))).toMatchObject({ lost: [], rationCovers: [] })
  })

  const covered = (change: Parameters<typeof waterWith>[0], limits = SITE) =>
    coveredLoss(lossFacts(limits, waterWith(change)))?.id ?? null
  const bad = { quality: 'bad' } as const

  it('is the only one that is lost, and of a role that is covered', () => {
    expect(covered({})).toBeNull()
    expect(covered({ 'ec-1': bad })).toBe('ec-1')
    expect(covered({ 'ph-1': bad })).toBeNull()
    expect(covered({ 'ec-1': bad, 'ph-1': bad })).toBeNull()
    const both: Limits = { ...SITE, ration: { ...RATION, covers: ['ph', 'conductivity'] } }
    expect(covered({ 'ph-1': bad }, both)).toBe('ph-1')
    expect(covered({ 'ec-1': bad, 'ph-1': bad }, both)).toBeNull()
    expect(covered({ 'temperature-1': bad }, both)).toBeNull()
  })

  it('is not done without while another is lost beside it: then each of them refuses', () => {
    const bench = readyBench(SITE)
    bench.purpose = 'ration'
    bench.scan({ 'ec-1': Number.NaN })
    expect(bench.refusals('nitrate', 1)).not.toContain('probe-in-range')
    bench.scan({ 'ec-1': Number.NaN, 'ph-1': Number.NaN })
    expect(bench.refusals('nitrate', 1)).toEqual(expect.arrayContaining(['probe-in-range', 'ration-loss']))
    bench.scan({}, 'bad')
    expect(bench.refusals('nitrate', 1)).toEqual(expect.arrayContaining(['probe-good', 'ration-loss']))
  })
})
