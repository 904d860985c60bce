/** Rows at edges that the bench cannot bring about: one figure is set, all else is well. */

import { describe, expect, it } from 'vitest'
import { type Facts, factsFor } from '../../src/safety/facts.ts'
import { INTERLOCKS } from '../../src/safety/interlocks.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { waitForMixedPh } from '../../src/safety/mixed-ph.ts'
import { waitForAmountMs } from '../../src/safety/sums.ts'
import type { ShotWish } from '../../src/safety/types.ts'
import { HOUR, LIMITS, MINUTE, readyBench } from './bench.ts'

const BASE = {
  ...{ meqPerMl: 1, reservoirMinL: 200, shotMaxMeqPerL: 0.04, phFreshMs: 180_000 },
  ...{ phCeiling: 6.6, afterFlowMs: 30 * MINUTE, acidApartMs: HOUR },
}

function row(id: string) {
  const found = INTERLOCKS.find((candidate) => candidate.id === id)
  if (found === undefined) throw new Error(`no interlock ${id}`)
  return found
}

function well(change: Partial<Facts>, limits: Limits = LIMITS): Facts {
  const bench = readyBench()
  const { atMs } = bench
  return { ...factsFor(limits, bench.state, { stock: 'acid', atMs, commandId: 'c-asked' }), ...change }
}

const WISH: ShotWish = { stock: 'acid', volumeUl: 1000, planId: 'plan-1' }
const asBase = { isAcid: false, isBase: true, sinceBaseMs: Infinity }
const approved = { rationReason: 'a crop starves', rationBy: 'ines', rationAgeMs: 0, rationLastsMs: HOUR }
const ofRation = { levelFitted: true, flowFitted: true, meterAgeMs: 0 }
const glass = { calibrationRunMaxUl: 1000, calibrationDayMaxUl: 1000, calibrationDayUl: 0 }

const EDGES: readonly (readonly [string, boolean, string, Partial<Facts>, ShotWish['purpose']?])[] = [
  ['boot-known', false, 'a boot without a name', { boot: '' }],
  ['pump-known', false, 'a longest run of nothing', { maxRunMs: 0 }],
  [
    'mode-acts',
    false,
    'observe, though the plan was approved',
    { mode: 'observe', approvedPlanId: 'plan-1', approvalAgeMs: 0 },
  ],
  ['mode-acts', false, 'an approval of time to come', { mode: 'advise', approvedPlanId: 'plan-1', approvalAgeMs: -1 }],
  ['mode-acts', true, 'an approval of this moment', { mode: 'advise', approvedPlanId: 'plan-1', approvalAgeMs: 0 }],
  ['acid-ph-fresh', false, 'a pH of time to come', { phOldestAgeMs: -1 }],
  ['acid-ph-fresh', true, 'a pH of this moment', { phOldestAgeMs: 0 }],
  ['acid-ph-above-floor', true, 'the highest pH there is', { phLowest: 14 }],
  ['acid-ph-above-floor', false, 'a pH that there is none of', { phLowest: 14.001 }],
  ['base-ph-fresh', false, 'a pH of time to come', { ...asBase, phOldestAgeMs: -1 }],
  [
    'base-ph-fresh',
    true,
    'a pH read exactly once the last had mixed',
    { ...asBase, phOldestAgeMs: MINUTE, sinceBaseMs: 26 * MINUTE },
  ],
  [
    'base-ph-fresh',
    false,
    'a pH read a millisecond sooner',
    { ...asBase, phOldestAgeMs: MINUTE + 1, sinceBaseMs: 26 * MINUTE },
  ],
  ['base-ph-below-ceiling', true, 'the lowest pH there is', { ...asBase, phHighest: 0 }],
  ['base-ph-below-ceiling', false, 'a pH that there is none of', { ...asBase, phHighest: -0.001 }],
  ['ration-approved', true, 'a ration of this moment', approved, 'ration'],
  ['ration-approved', false, 'a ration that nobody approved', { ...approved, rationBy: null }, 'ration'],
  ['ration-approved', false, 'a ration that lasts no time', { ...approved, rationLastsMs: 0 }, 'ration'],
  ['ration-water', true, 'a meter read this moment', ofRation, 'ration'],
  ['ration-water', false, 'a meter read in time to come', { ...ofRation, meterAgeMs: -1 }, 'ration'],
  [
    'calibration-declared',
    false,
    'a cap of nothing for the day',
    { calibration: { ...glass, calibrationDayMaxUl: 0 } },
    'calibration',
  ],
  [
    'calibration-declared',
    false,
    'a cap of nothing for the run',
    { calibration: { ...glass, calibrationRunMaxUl: 0 } },
    'calibration',
  ],
  ['calibration-declared', true, 'a cap for both', { calibration: glass }, 'calibration'],
]

describe('at an edge that the bench cannot bring about', () => {
  const edges = EDGES.map(([id, holds, tells, change, purpose]) => ({ id, holds, tells, change, purpose }))

  it.each(edges)('$id holds is $holds for $tells', ({ id, holds, change, purpose }) => {
    const wish = purpose === undefined ? WISH : { ...WISH, purpose }
    const limits = { ...LIMITS, base: BASE }
    expect(row(id).holds(wish, well(change, limits), limits)).toBe(holds)
  })

  it('a probe that stood still since a moment to come is stuck', () => {
    const facts = well({})
    const probes = facts.probes.map((probe) => ({ ...probe, sameForMs: -1 }))
    expect(row('probe-not-stuck').holds(WISH, facts, LIMITS)).toBe(true)
    expect(row('probe-not-stuck').holds(WISH, { ...facts, probes }, LIMITS)).toBe(false)
  })
})

describe('what a row says of a moment', () => {
  it.each([
    ['acid-mixed', { sinceAcidMs: 0 }, 'acid ran 0 ms ago and mixing takes 25 min'],
    ['acid-mixed', { sinceAcidMs: -1 }, 'acid may still be running and mixing takes 25 min'],
    ['base-mixed', { ...asBase, sinceBaseMs: 0 }, 'base ran 0 ms ago and mixing takes 25 min'],
    ['base-mixed', { ...asBase, sinceBaseMs: -1 }, 'base may still be running and mixing takes 25 min'],
    ['acid-base-apart', { ...asBase, sinceAcidMs: MINUTE }, 'acid ran 60 s ago and 60 min must pass'],
    ['acid-base-apart', { isBase: false, sinceBaseMs: MINUTE }, 'base ran 60 s ago and 0 ms must pass'],
    ['gap-kept', { sinceShotMs: 0, gapMs: MINUTE }, 'acid ran 0 ms ago and 60 s must pass'],
    ['gap-kept', { sinceShotMs: -1, gapMs: MINUTE }, 'acid may still be running and 60 s must pass'],
    [
      'series-mixed',
      { sinceShotMs: 0 },
      'after a refill each shot must mix in full, which takes 25 min; the last one was 0 ms ago',
    ],
    [
      'series-mixed',
      { sinceShotMs: -1 },
      'after a refill each shot must mix in full, which takes 25 min; the last one was not over',
    ],
  ])('%s with %o', (id, change, said) => {
    const limits = { ...LIMITS, base: BASE }
    expect(row(id).found(WISH, well(change, limits), limits)).toBe(said)
  })

  const two = (first: number, second: number) => [
    { from: 'calcium', sinceMs: first, needMs: 20 },
    { from: 'nitrate', sinceMs: second, needMs: 10 },
    { from: 'phosphate', sinceMs: 99, needMs: 10 },
  ]

  it('of stocks that are too close together it names each, and the longest of their waits', () => {
    const facts = well({ apart: two(5, 9) })
    expect(row('stocks-apart').found(WISH, facts, LIMITS)).toBe(
      'calcium ran 5 ms ago and 20 ms must pass; nitrate ran 9 ms ago and 10 ms must pass',
    )
    expect(row('stocks-apart').waitMs?.(WISH, facts, LIMITS)).toBe(15)
    expect(row('stocks-apart').waitMs?.(WISH, well({ apart: two(19, 2) }), LIMITS)).toBe(8)
  })

  it('of stocks that never come apart by waiting it gives no wait, whichever of them it is', () => {
    for (const apart of [two(Number.NaN, 5), two(5, Number.NaN)])
      expect(row('stocks-apart').waitMs?.(WISH, well({ apart }), LIMITS)).toBeNull()
  })
})

describe('the wait for a pH that has seen the last reagent mix', () => {
  const facts = { phOldestAgeMs: 10, sinceAcidMs: 5 * MINUTE, sinceBaseMs: Infinity }
  const waitOf = (change: Partial<Facts>) => waitForMixedPh({ ...well(facts), ...change }, LIMITS, 100)

  it('is what is left of mixing, less the age of the reading', () => {
    expect(waitOf({})).toBe(20 * MINUTE + 10)
    expect(waitOf({ phOldestAgeMs: 0 })).toBe(20 * MINUTE)
    expect(waitOf({ phOldestAgeMs: 100 })).toBe(20 * MINUTE + 100)
    expect(waitOf({ sinceBaseMs: MINUTE })).toBe(24 * MINUTE + 10)
  })

  it.each([-1, 101, Number.NaN])('is none where the reading is %s ms old', (phOldestAgeMs) => {
    expect(waitOf({ phOldestAgeMs })).toBeNull()
  })

  it('is none where all has mixed', () => {
    expect(waitOf({ sinceAcidMs: 26 * MINUTE })).toBeNull()
    expect(waitOf({ sinceAcidMs: 25 * MINUTE + 10 })).toBeNull()
  })
})

describe('the wait for room under a cap', () => {
  const counted = [
    { endMs: 300, amount: 4 },
    { endMs: 100, amount: 3 },
    { endMs: -900, amount: 50 },
  ]
  const waitOf = (amount: number, cap: number) => waitForAmountMs(counted, { atMs: 500, amount, cap, windowMs: 1000 })

  it('is none while there is room, to the last of it', () => {
    expect(waitOf(3, 10)).toBe(0)
    expect(waitOf(4, 10)).toBe(600)
  })

  it('ends as the older deliveries leave the window, one by one', () => {
    expect(waitOf(6, 10)).toBe(600)
    expect(waitOf(7, 10)).toBe(800)
    expect(waitOf(10, 10)).toBe(800)
  })

  it('does not count what leaves the window at this very moment', () => {
    const leaving = [...counted, { endMs: -500, amount: 50 }]
    expect(waitForAmountMs(leaving, { atMs: 500, amount: 3, cap: 10, windowMs: 1000 })).toBe(0)
    expect(waitForAmountMs(leaving, { atMs: 499, amount: 3, cap: 10, windowMs: 1000 })).toBe(1)
    expect(waitForAmountMs(leaving, { atMs: 500, amount: 11, cap: 10, windowMs: 1000 })).toBeNull()
  })

  it('never ends for what does not fit at all', () => {
    expect(waitOf(11, 10)).toBeNull()
  })
})
