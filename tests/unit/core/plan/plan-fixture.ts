// A bench of our own invention: lettuce over a 220 L reservoir with blended well water and four stocks, at its aim.

import { alkalinityMeqPerL } from '../../../../src/chemistry/alkalinity.ts'
import {
  type Composition,
  ELEMENT_COUNT,
  ELEMENT_INDEX,
  ELEMENTS,
  type ElementName,
  toVector,
} from '../../../../src/chemistry/element.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { readSalt } from '../../../../src/chemistry/salt.ts'
import type { StockHeadroom } from '../../../../src/core/plan/headroom.ts'
import type { Plan } from '../../../../src/core/plan/plan.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import type { BandSettings, CoreSettings, HandSalt, StockKind, StockSettings } from '../../../../src/core/settings.ts'

export const MINUTE_MS = 60_000
export const HOUR_MS = 3_600_000
export const AT_MS = Date.UTC(2026, 2, 20, 8)
export const VOLUME_L = 220

/** mg/L: low, aim, high, weight. Common practice for lettuce in film channels, no source. */
const BANDS_MG_PER_L: Readonly<Record<ElementName, readonly [number, number, number, number]>> = {
  'NO3-N': [110, 150, 220, 1],
  'NH4-N': [0, 4, 20, 0.1],
  P: [20, 40, 60, 1],
  K: [130, 200, 300, 1],
  Ca: [80, 130, 200, 1],
  Mg: [20, 35, 60, 0.7],
  S: [20, 55, 110, 0.3],
  Na: [0, 20, 50, 0],
  Cl: [0, 20, 70, 0],
  Fe: [1, 2, 4, 0.3],
  Mn: [0.25, 0.5, 1, 0.1],
  Zn: [0.1, 0.25, 0.5, 0.1],
  B: [0.15, 0.3, 0.5, 0.1],
  Cu: [0.02, 0.06, 0.15, 0.1],
  Mo: [0.01, 0.04, 0.08, 0],
}

export const BANDS: readonly BandSettings[] = ELEMENTS.map((name) => {
  const [low, aim, high, weight] = BANDS_MG_PER_L[name]
  return { low: toMmolPerL(name, low), aim: toMmolPerL(name, aim), high: toMmolPerL(name, high), weight }
})

/** mmol taken up per litre transpired: rounded from published lettuce vectors. */
export const UPTAKE_PER_L: Composition = {
  ...{ 'NO3-N': 8.5, P: 0.8, K: 5, Ca: 1.35, Mg: 0.55, S: 0.45, Na: 0.2, Cl: 0.3 },
  ...{ Fe: 0.015, Mn: 0.005, Zn: 0.004, B: 0.02, Cu: 0.0006, Mo: 0.0005 },
}

/** Well water with as much rain water, mmol/L; about 2 meq/L of alkalinity. */
export const SOURCE = toVector({ 'NO3-N': 0.08, Ca: 1, Mg: 0.18, K: 0.03, Na: 0.3, Cl: 0.3, S: 0.17, B: 0.0015 })

export const STOCKS: readonly StockSettings[] = [
  stock('calcium', 'calcium', { 'NO3-N': 0.847, Ca: 0.4235, Fe: 0.018 }),
  stock('phosphate', 'phosphate-sulfate', {
    ...{ P: 0.162, K: 0.162, Mg: 0.075, S: 0.078, Mn: 0.001, Zn: 0.0008, B: 0.0037, Cu: 0.00012 },
    ...{ Mo: 0.0001, Na: 0.0002 },
  }),
  stock('nitrate', 'neutral', { 'NO3-N': 1.187, K: 1.187 }),
  { ...stock('acid', 'acid', { 'NO3-N': 1 }), alkalinityMeqPerMl: -1, shotMinUl: 500 },
]

export function stock(id: string, kind: StockKind, mmolPerMl: Composition): StockSettings {
  const ids = { id, node: 'bench', pump: `pump-${id}`, kind }
  const vector = toVector(mmolPerMl)
  const meq = Math.round(1e9 * alkalinityMeqPerL(vector)) / 1e9
  return {
    ...ids,
    mmolPerMl: vector,
    alkalinityMeqPerMl: kind === 'acid' || kind === 'base' || Math.abs(meq) > 0.1 ? meq : 0,
    rateUlPerS: 500,
    shotMinUl: 1000,
    strengthSd: 0.03,
    saltGPerMl: 0.1,
  }
}

export function handSalt(name: string, formula: string): HandSalt {
  const read = readSalt({ kind: 'formula', formula, purity: 1 })
  if (read.kind !== 'salt') throw new Error(read.problem)
  return { name, mmolPerG: toVector(read.mmolPerG) }
}

export function headroomFor(stockId: string, change: Partial<StockHeadroom> = {}): StockHeadroom {
  const acid = stockId === 'acid'
  const shotMaxUl = acid ? 8000 : 40_000
  return {
    ...{ stock: stockId, shotUl: shotMaxUl, hourUl: acid ? 16_000 : 80_000, dayUl: acid ? 250_000 : 700_000 },
    ...{ shotMaxUl, gapMs: (acid ? 25 : 5) * MINUTE_MS, notBeforeMs: AT_MS, blockedBy: [] },
    ...change,
  }
}

const SETTINGS = {
  source: { mmolPerL: SOURCE, relativeSd: 0.05, untrackedMeqPerL: 0 },
  stocks: STOCKS,
  handSalts: [
    ...[handSalt('potassium nitrate', 'KNO3'), handSalt('monopotassium phosphate', 'KH2PO4')],
    ...[handSalt('monoammonium phosphate', 'NH4H2PO4'), handSalt('magnesium sulfate heptahydrate', 'MgSO4.7H2O')],
  ],
  planning: { intervalMs: HOUR_MS, gapSharePerDay: 0.5, marginSds: 1, conductivityMaxDsPerM: 2.8 },
} as unknown as CoreSettings

/** A litre transpired an hour and as much made up; everything at its aim and known to 2 %. */
export function benchInput(change: Partial<PlanInput> = {}): PlanInput {
  const aims = Float64Array.from(BANDS, (band) => band.aim)
  return {
    settings: SETTINGS,
    atMs: AT_MS,
    planId: 'plan-1',
    estimate: {
      ...{ volumeL: VOLUME_L, mmolPerL: aims, sdMmolPerL: aims.map((aim) => 0.02 * aim) },
      ...{ alkalinityMeqPerL: 0.13, alkalinitySdMeqPerL: 0.03, ph: 5.9, conductivityDsPerM: 1.9 },
    },
    forecast: forecastFor(1),
    bands: BANDS,
    phBand: { low: 5.5, aim: 5.9, high: 6.3 },
    alkalinityAim: { lowMeqPerL: 0.05, aimMeqPerL: 0.13, highMeqPerL: 0.3 },
    headroom: { stocks: STOCKS.map(({ id }) => headroomFor(id)) },
    // About 0.07 dS/m per meq/L; enough for a bound, not for an estimate.
    responses: {
      conductivityDsPerMPerMmolPerL: toVector({
        'NO3-N': 0.065,
        P: 0.03,
        K: 0.068,
        Ca: 0.1,
        Mg: 0.09,
        S: 0.13,
        Na: 0.045,
        Cl: 0.07,
      }),
    },
    deliveryFactor: new Float64Array(STOCKS.length).fill(1),
    sampleAgeDays: 2,
    waits: {
      mixingMs: 25 * MINUTE_MS,
      apartMs: (one, other) => {
        const pair = new Set([one, other])
        if (pair.has('calcium') && pair.has('phosphate')) return 20 * MINUTE_MS
        return pair.has('acid') && !pair.has('nitrate') ? 5 * MINUTE_MS : 0
      },
    },
    ...change,
  }
}

/** What a number of litres transpired and made up in an hour does. */
export function forecastFor(litres: number): PlanInput['forecast'] {
  const uptakeMmol = toVector(UPTAKE_PER_L).map((mmol) => mmol * litres)
  const makeUpMmol = SOURCE.map((mmol) => mmol * litres)
  const alkalinityMeq = alkalinityMeqPerL(makeUpMmol) - alkalinityMeqPerL(uptakeMmol)
  return { intervalMs: HOUR_MS, uptakeMmol, makeUpL: litres, makeUpMmol, alkalinityMeq }
}

/** The input with some elements at other levels, in mg/L, or with other doubts. */
export function withLevels(input: PlanInput, mgPerL: Composition, sdMgPerL: Composition = {}): PlanInput {
  const set = (vector: Float64Array, values: Composition) =>
    vector.map((value, at) => {
      const given = values[ELEMENTS[at]!]
      return given === undefined ? value : toMmolPerL(ELEMENTS[at]!, given)
    })
  const { estimate } = input
  const mmolPerL = set(estimate.mmolPerL, mgPerL)
  return { ...input, estimate: { ...estimate, mmolPerL, sdMmolPerL: set(estimate.sdMmolPerL, sdMgPerL) } }
}

export function withSettings(input: PlanInput, change: Partial<CoreSettings>): PlanInput {
  return { ...input, settings: { ...input.settings, ...change } }
}

export function withHeadroom(input: PlanInput, stockId: string, change: Partial<StockHeadroom>): PlanInput {
  const stocks = input.headroom.stocks.map((told) => (told.stock === stockId ? { ...told, ...change } : told))
  return { ...input, headroom: { stocks } }
}

/** Volume of a stock in the plan, mL. */
export function doseMl(plan: Plan, stockId: string): number {
  return (plan.doses.find((dose) => dose.stock === stockId)?.volumeUl ?? 0) / 1000
}

/** Levels at the end of the interval with the plan’s doses, mmol/L, summed here from the definitions. */
export function levelsAfter(input: PlanInput, plan: Plan, but: readonly StockKind[] = []): Float64Array {
  const { estimate, forecast, settings } = input
  const amounts = Float64Array.from({ length: ELEMENT_COUNT }, (_, at) => {
    const kept = estimate.mmolPerL[at]! * estimate.volumeL
    return kept + forecast.makeUpMmol[at]! - forecast.uptakeMmol[at]!
  })
  for (const dose of plan.doses) {
    const at = settings.stocks.findIndex(({ id }) => id === dose.stock)
    const { mmolPerMl, kind } = settings.stocks[at]!
    if (but.includes(kind)) continue
    const ml = (dose.volumeUl / 1000) * input.deliveryFactor[at]!
    for (let e = 0; e < ELEMENT_COUNT; e++) amounts[e]! += ml * mmolPerMl[e]!
  }
  return amounts.map((mmol) => mmol / estimate.volumeL)
}

export function at(vector: Float64Array, element: ElementName): number {
  return vector[ELEMENT_INDEX[element]]!
}
