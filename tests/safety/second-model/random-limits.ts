/** Limits of all kinds: mostly such as a site has, on three scales of time, some contradictory, some with no number. */

import type { AcidLimits, Limits, ProbeLimits, StockLimits } from '../../../src/safety/limits.ts'
import type { Chance } from './chance.ts'

const SECOND = 1000
const MINUTE = 60 * SECOND

/** How long readings and heartbeats live: at the longest a day passes in a few of them. */
const SCALES = [
  { scanMs: 3 * MINUTE, beatMs: 90 * SECOND },
  { scanMs: 20 * MINUTE, beatMs: 25 * MINUTE },
  { scanMs: 4 * 60 * MINUTE, beatMs: 5 * 60 * MINUTE },
]

const NO_NUMBERS = [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, -1, undefined as never]

const NO_TWINS = { notChecked: 'the second model does not compare twins yet' }

/** One set of limits. */
export function randomLimits(chance: Chance): Limits {
  const scale = chance.pick(SCALES)
  const lacksLevel = chance.often(0.12)
  const lacksFlow = chance.often(0.12)
  const acid = chance.often(0.95) ? { acid: randomAcid(chance, scale.scanMs) } : {}
  const limits: Limits = {
    mode: chance.pick(['automatic', 'automatic', 'automatic', 'advise', 'observe']),
    approvalMs: chance.pick([5, 60, 600]) * MINUTE,
    probes: randomProbes(chance, { lacksLevel, lacksFlow }),
    twinsWithin: { ph: NO_TWINS, level: NO_TWINS, flow: NO_TWINS },
    notFitted: [
      ...(lacksLevel && chance.often(0.85)
        ? [{ role: 'level' as const, reason: chance.pick(['dry well', 'none']) }]
        : []),
      ...(lacksFlow && chance.often(0.85)
        ? [{ role: 'flow' as const, reason: chance.pick(['no pipe', 'none', ' ']) }]
        : []),
      ...(chance.often(0.02) ? [{ role: 'flow' as const, reason: 'told twice' }] : []),
    ],
    notFittedCapShare: chance.pick([0.5, 0.5, 0.37, 1, 1.5, 0]),
    scanAgeMaxMs: scale.scanMs,
    stuckMs: chance.pick([30, 360, 2880]) * MINUTE,
    levelMinL: 130,
    levelMaxL: 255,
    flowMinLPerMin: 4,
    flowSteadyMs: chance.pick([0, 1, 5, 10]) * MINUTE,
    heartbeatAgeMaxMs: scale.beatMs,
    startWindowMs: chance.pick([10, 60]) * SECOND,
    reportGraceMs: chance.pick([10, 60]) * SECOND,
    mixingMs: chance.pick([2, 10, 25]) * MINUTE,
    stocks: randomStocks(chance),
    effect: { notChecked: 'the second model does not know of effects yet' },
    ...acid,
  }
  return chance.often(0.1) ? broken(chance, limits) : limits
}

function randomProbes(chance: Chance, lacks: { lacksLevel: boolean; lacksFlow: boolean }): readonly ProbeLimits[] {
  const probes: ProbeLimits[] = [
    { id: 'ec-1', node: 'one', role: 'conductivity', min: 0.5, max: 2.8 },
    { id: 'ph-1', node: 'one', role: 'ph', min: 4.8, max: 8.2 },
  ]
  if (chance.often(0.9)) probes.push({ id: 'water-1', node: 'one', role: 'temperature', min: 5, max: 35 })
  if (!lacks.lacksLevel) probes.push({ id: 'level-1', node: 'two', role: 'level', min: 100, max: 300 })
  if (!lacks.lacksFlow) probes.push({ id: 'flow-1', node: 'two', role: 'flow', min: 0, max: 40 })
  if (!lacks.lacksFlow && chance.often(0.1)) probes.push({ id: 'flow-2', node: 'one', role: 'flow', min: 0, max: 40 })
  if (chance.often(0.3)) probes.push({ id: 'ph-2', node: 'two', role: 'ph', min: 4.8, max: 8.2, stuckMs: 20 * MINUTE })
  if (chance.often(0.1)) probes.push({ id: 'meter-1', node: 'one', role: 'top-up', min: 0, max: 1000 })
  if (chance.often(0.1)) probes.push({ id: 'level-2', node: 'one', role: 'level', min: 100, max: 300 })
  return chance.often(0.03) ? probes.filter(() => chance.often(0.8)) : probes
}

function randomStocks(chance: Chance): readonly StockLimits[] {
  const nodeOf = () => chance.pick(['one', 'two'])
  const stock = (name: string, place: number, more: Partial<StockLimits>): StockLimits => {
    const shotMaxUl = chance.pick([8000, 40_000, 9999])
    return {
      stock: name,
      node: nodeOf(),
      pump: `pump-${place}`,
      rateUlPerS: chance.pick([500, 700, 637.7, 1000 / 3]),
      shotMaxUl,
      hourMaxUl: Math.floor(shotMaxUl * chance.pick([1, 1.5, 2, 4])),
      dayMaxUl: Math.floor(shotMaxUl * chance.pick([2, 3, 5])),
      gapMs: chance.pick([0, 1, 5, 25]) * MINUTE,
      apart: [],
      refill: { notChecked: 'the second model does not know of bottles yet' },
      ...more,
    }
  }
  const apartFrom = (from: string) => ({ from, ms: chance.pick([0, 5, 25]) * MINUTE })
  const stocks = [
    stock('calcium', 1, { apart: chance.often(0.7) ? [apartFrom('phosphate')] : [] }),
    stock('phosphate', 2, { apart: chance.often(0.4) ? [apartFrom('calcium')] : [] }),
    stock('nitrate', 3, {}),
    stock('acid', 4, { acid: true, apart: chance.often(0.5) ? [apartFrom('calcium')] : [] }),
  ]
  if (chance.often(0.2)) stocks.push(stock('phosphoric', 5, { acid: true }))
  return stocks
}

function randomAcid(chance: Chance, scanMs: number): AcidLimits {
  return {
    meqPerMl: chance.pick([1, 2, 0.3]),
    reservoirMinL: chance.pick([200, 140, 180.5]),
    shotMaxMeqPerL: chance.pick([0.04, 0.03, 0.001]),
    phFreshMs: chance.pick([1, 1, 0.5]) * scanMs,
    phFloor: 5.4,
    afterFlowMs: chance.pick([0, 5, 30]) * MINUTE,
  }
}

/** The same limits with one number that is none, somewhere. */
function broken(chance: Chance, limits: Limits): Limits {
  const bad = chance.pick(NO_NUMBERS)
  const place = chance.pick(['limits', 'stock', 'acid', 'probe', 'apart'] as const)
  const one = <T extends object>(entry: T): T => {
    const names = Object.keys(entry).filter((name) => typeof entry[name as keyof T] === 'number')
    return names.length === 0 ? entry : { ...entry, [chance.pick(names)]: bad }
  }
  if (place === 'acid') return limits.acid === undefined ? limits : { ...limits, acid: one(limits.acid) }
  if (place === 'limits') return one(limits)
  if (place === 'probe') return { ...limits, probes: oneOf(chance, limits.probes, one) }
  if (place === 'stock') return { ...limits, stocks: oneOf(chance, limits.stocks, one) }
  const apart = (entry: StockLimits) => ({ ...entry, apart: entry.apart.map((wait) => ({ ...wait, ms: bad })) })
  return { ...limits, stocks: limits.stocks.map(apart) }
}

function oneOf<T>(chance: Chance, list: readonly T[], change: (entry: T) => T): readonly T[] {
  const place = chance.below(list.length)
  return list.map((entry, index) => (index === place ? change(entry) : entry))
}
