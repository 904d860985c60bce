/** Limits as a site might have them, some with a figure that is none. */

import type {
  AcidLimits,
  BaseLimits,
  EffectLimits,
  Limits,
  NotChecked,
  ProbeLimits,
  RationLimits,
  RefillLimits,
  StockLimits,
} from '../../../src/safety/limits.ts'
import type { Chance } from './chance.ts'

const SECOND_MS = 1000
const MINUTE_MS = 60_000
const WHY_NOT: NotChecked = { notChecked: 'not at this site' }

type Mutable<T> = { -readonly [K in keyof T]: T[K] }

export function randomLimits(chance: Chance): Limits {
  const hasLevel = chance.often(0.85)
  const hasFlow = chance.often(0.85)
  const isEffectChecked = chance.often(0.4)
  const stocks = randomStocks(chance, isEffectChecked)
  const limits: Mutable<Limits> = {
    mode: chance.weighed([
      [7, 'automatic'],
      [2, 'advise'],
      [0.5, 'observe'],
    ]),
    approvalMs: chance.pick([10, 30, 60]) * MINUTE_MS,
    probes: randomProbes(chance, hasLevel, hasFlow),
    notFitted: [
      ...(hasLevel && !chance.often(0.02)
        ? []
        : [{ role: 'level', reason: chance.often(0.95) ? 'none here' : ' ' } as const]),
      ...(hasFlow && !chance.often(0.02)
        ? []
        : [{ role: 'flow', reason: chance.often(0.95) ? 'none here' : '' } as const]),
    ],
    notFittedCapShare: chance.pick([0.5, 0.5, 0.7, 1, 0.3]),
    scanAgeMaxMs: chance.pick([60, 180, 600, 600, 3600]) * SECOND_MS,
    stuckMs: chance.pick([10, 45, 360]) * MINUTE_MS,
    levelMinL: 130,
    levelMaxL: 255,
    flowMinLPerMin: 4,
    flowSteadyMs: chance.pick([0, 60, 180]) * SECOND_MS,
    heartbeatAgeMaxMs: chance.pick([30, 90, 300]) * SECOND_MS,
    startWindowMs: chance.pick([30, 60]) * SECOND_MS,
    reportGraceMs: chance.pick([10, 60]) * SECOND_MS,
    mixingMs: chance.pick([1, 3, 8]) * MINUTE_MS,
    stocks,
    effect: isEffectChecked ? randomEffect(chance) : WHY_NOT,
  }
  if (chance.often(0.5)) limits.flowIsSwitch = chance.often(0.3)
  addReagents(chance, limits)
  addWhole(chance, limits)
  return chance.often(0.15) ? spoiled(chance, limits) : limits
}

function randomProbes(chance: Chance, hasLevel: boolean, hasFlow: boolean): ProbeLimits[] {
  const other = chance.often(0.2) ? 'south' : 'north'
  const stuck = chance.often(0.2) ? { stuckMs: chance.pick([0.5, 5, 60]) * MINUTE_MS } : {}
  const probes: ProbeLimits[] = [
    { id: 'ec-1', node: 'north', role: 'conductivity', min: 0.5, max: 2.8, ...stuck },
    { id: 'ph-1', node: 'north', role: 'ph', min: 4.8, max: 7.2 },
  ]
  if (chance.often(0.2)) probes.push({ id: 'ec-2', node: other, role: 'conductivity', min: 0.5, max: 2.8 })
  if (chance.often(0.15)) probes.push({ id: 'ph-2', node: other, role: 'ph', min: 4.8, max: 7.2 })
  if (chance.often(0.5)) probes.push({ id: 'warm-1', node: 'north', role: 'temperature', min: 5, max: 35, ...stuck })
  if (hasLevel) probes.push({ id: 'level-1', node: other, role: 'level', min: 0, max: 300 })
  if (hasLevel && chance.often(0.2)) probes.push({ id: 'level-2', node: 'north', role: 'level', min: 0, max: 300 })
  if (hasFlow) probes.push({ id: 'flow-1', node: 'north', role: 'flow', min: 0, max: 60, ...stuck })
  if (hasFlow && chance.often(0.2)) probes.push({ id: 'flow-2', node: other, role: 'flow', min: 0, max: 60 })
  if (chance.often(0.25)) probes.push({ id: 'switch-1', node: 'north', role: 'hold-switch', min: 0, max: 1 })
  if (chance.often(0.1)) probes.push({ id: 'switch-2', node: other, role: 'hold-switch', min: 0, max: 1 })
  if (chance.often(0.1)) probes.push({ id: 'meter-1', node: 'north', role: 'top-up', min: 0, max: 1e6 })
  return chance.often(0.01) ? probes.slice(1) : probes
}

function randomStocks(chance: Chance, isEffectChecked: boolean): StockLimits[] {
  const names = ['calcium', 'phosphate', 'nitrate', 'acid', 'base'].filter(
    (name) => name === 'calcium' || chance.often(name === 'base' ? 0.4 : 0.7),
  )
  const stocks = names.map((name, at) => randomStock(chance, name, at, isEffectChecked))
  return chance.often(0.02) ? stocks.map((stock) => ({ ...stock, base: stock.acid ?? false })) : stocks
}

function randomStock(chance: Chance, stock: string, at: number, isEffectChecked: boolean): StockLimits {
  const shotMaxUl = chance.pick([4000, 8000, 40_000])
  const entry: Mutable<StockLimits> = {
    stock,
    node: chance.often(0.85) ? 'north' : 'south',
    pump: `pump-${at + 1}`,
    rateUlPerS: chance.pick([500, 333.3333, 1000 / 3, 812.5]),
    shotMaxUl,
    hourMaxUl: chance.pick([1, 2, 5]) * shotMaxUl,
    dayMaxUl: chance.pick([0.5, 2, 6, 40]) * shotMaxUl,
    gapMs: chance.pick([0, 0.25, 1, 5]) * MINUTE_MS,
    apart: [],
    refill: chance.often(0.5) ? WHY_NOT : randomRefill(chance, shotMaxUl),
  }
  if (chance.often(0.4) && stock !== 'calcium')
    entry.apart = [{ from: 'calcium', ms: chance.pick([0.25, 1, 10]) * MINUTE_MS }]
  if (chance.often(0.1))
    entry.apart = [...entry.apart, { from: chance.pick(['phosphate', 'nobody']), ms: 4 * MINUTE_MS }]
  if (stock === 'acid') entry.acid = true
  if (stock === 'base') entry.base = true
  if (chance.often(0.6))
    entry.calibration = { runMaxUl: chance.pick([3000, 20_000]), dayMaxUl: chance.pick([1500, 8000, 50_000]) }
  if (isEffectChecked && chance.often(0.97)) {
    const dsPerMPerMlPerL = chance.pick([0.9, 0.5, 0.2, -0.1, 3])
    entry.effect = chance.often(0.2)
      ? { dsPerMPerMlPerL, untold: chance.often(0.9) ? 'too small to be seen' : '  ' }
      : { dsPerMPerMlPerL }
  }
  return entry
}

function randomRefill(chance: Chance, shotMaxUl: number): RefillLimits {
  return {
    bottleUl: chance.pick([0.3, 2, 10, 100]) * shotMaxUl,
    sinceRefillMaxUl: chance.pick([0.3, 2, 8, 100]) * shotMaxUl,
    firstShotUl: chance.pick([1000, 3000, shotMaxUl, shotMaxUl]),
  }
}

function randomEffect(chance: Chance): EffectLimits {
  return {
    windowMs: chance.pick([4, 6, 10]) * MINUTE_MS,
    readingsMin: chance.pick([2, 3, 5]),
    driftSdDsPerM: chance.pick([0.001, 0.004, 0.02]),
    tolerance: chance.pick([0.2, 0.35]),
    falseTripRisk: chance.pick([0.001, 0.01, 0.05]),
    missRisk: chance.pick([0.01, 0.05]),
    unverifiedMaxDsPerM: chance.pick([0.05, 0.1, 0.3]),
    showDsPerM: chance.pick([0.01, 0.03]),
  }
}

function addReagents(chance: Chance, limits: Mutable<Limits>): void {
  const common = {
    meqPerMl: chance.pick([0.5, 1, 2]),
    reservoirMinL: chance.pick([150, 200]),
    shotMaxMeqPerL: chance.pick([0.02, 0.04, 0.2]),
    phFreshMs: chance.pick([60, 180, 3600]) * SECOND_MS,
    afterFlowMs: chance.pick([0, 1, 3]) * MINUTE_MS,
  }
  if (limits.stocks.some((stock) => stock.acid === true)) limits.acid = randomAcid(chance, common)
  if (limits.stocks.some((stock) => stock.base === true))
    limits.base = { ...common, phCeiling: 6.6, acidApartMs: chance.pick([1, 5, 15]) * MINUTE_MS }
}

function randomAcid(chance: Chance, common: Omit<BaseLimits, 'phCeiling' | 'acidApartMs'>): AcidLimits {
  const acid: Mutable<AcidLimits> = { ...common, phFloor: 5.4 }
  if (chance.often(0.7))
    acid.buffering = {
      sourceMeqPerL: chance.pick([0, 1, 2.5]),
      trimMeqPerHour: chance.pick([0, 4, 20, 20]),
      trimMeqPerDay: chance.pick([0, 2, 2, 10, 60]),
      reservoirMeqPerL: chance.pick([0, 0, 0.02, 0.3]),
      ...(chance.often(0.8) ? { unmeteredMeqPerHour: chance.pick([0, 2, 10]) } : {}),
    }
  if (chance.often(0.6))
    acid.injection = {
      into: chance.often(0.3) ? 'line' : 'reservoir',
      rateMaxMeqPerL: chance.pick([0.1, 0.5, 5]),
      circulationLPerMin: chance.pick([3, 6, 20]),
    }
  return acid
}

function addWhole(chance: Chance, limits: Mutable<Limits>): void {
  limits.twinsWithin = {
    conductivity: chance.often(0.9) ? 0.2 : WHY_NOT,
    ph: 0.3,
    level: chance.often(0.9) ? 8 : { notChecked: ' ' },
    flow: 2,
  }
  if (chance.often(0.6)) limits.meter = { id: 'meter-1', node: 'north', maxLPerMin: chance.pick([2, 10]) }
  if (chance.often(0.5)) limits.ration = randomRation(chance, limits.stocks)
  if (!chance.often(0.4)) return
  const elements = chance.pick([['K'], ['K', 'Ca'], ['S'], []])
  limits.elements = {
    volumeL: chance.pick([100, 130]),
    dayMaxMgPerL: Object.fromEntries(elements.map((name) => [name, chance.pick([4, 15, 80])])),
  }
  limits.stocks = limits.stocks.map((stock) => {
    if (chance.often(0.02)) return stock
    const content = ['K', 'Ca', 'S']
      .filter(() => chance.often(0.6))
      .map((name) => [name, chance.pick([0, 9000, 60_000, 120_001])])
    return { ...stock, contentNgPerUl: Object.fromEntries(content) }
  })
}

function randomRation(chance: Chance, stocks: readonly StockLimits[]): RationLimits {
  const covers = (['conductivity', 'ph', 'estimator'] as const).filter(() => chance.often(0.8))
  return {
    reason: chance.often(0.97) ? 'the crop must not starve' : ' ',
    covers,
    lastsMs: chance.pick([1, 6, 48]) * 60 * MINUTE_MS,
    stocks: stocks
      .filter(() => chance.often(0.9))
      .map(({ stock }) => ({
        stock,
        ulPerL: chance.pick([0, 400, 2000, 20_000]),
        dayMaxUl: chance.pick([1500, 3000, 9000]),
      })),
  }
}

/** Changes one figure somewhere for one that is none, or for a missing one. */
function spoiled(chance: Chance, limits: Limits): Limits {
  const copy = structuredClone(limits)
  const places: { in: Record<string, unknown>; key: string }[] = []
  const look = (node: object): void => {
    for (const [key, value] of Object.entries(node)) {
      if (typeof value === 'number') places.push({ in: node as Record<string, unknown>, key })
      else if (typeof value === 'object' && value !== null) look(value)
    }
  }
  look(copy)
  const place = chance.pick(places)
  const value = place.in[place.key] as number
  // durations are whole milliseconds, wrong or not
  const more = place.key.endsWith('Ms') || place.key === 'ms' ? 1 : 0.5
  const wrong = chance.pick([
    NaN,
    Infinity,
    -Infinity,
    -1,
    0,
    -value,
    1e300,
    value * 1e6,
    2 ** 53,
    undefined,
    value + more,
  ])
  if (wrong === undefined) delete place.in[place.key]
  else place.in[place.key] = wrong
  return copy
}
