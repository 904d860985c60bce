import type { Chance } from './chance.ts'
import { ION_FACTS, IONS, type Ion, noSolutes, type Solutes } from './ion.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/** Hours of local time; a long spring day. */
const SUNRISE_H = 6
const DAY_LENGTH_H = 14
const NIGHT_LENGTH_H = 24 - DAY_LENGTH_H

/** Share of a day’s nitrogen and potassium that is taken at night (tomato in NFT: 35-40 %). */
const NIGHT_SHARE = 0.37
const NIGHT_WATER_SHARE = 0.1

/**
 * mmol taken per litre of the water a bed of this size usually transpires. The minor ones are the middle of
 * lettuce’s sufficient tissue contents times 3 g of dry matter per litre (judgement).
 */
const DEMAND_MMOL_PER_L: Readonly<Partial<Record<Ion, number>>> = {
  NO3: 8.5,
  NH4: 0.5,
  P: 0.8,
  K: 5,
  Ca: 1.35,
  Mg: 0.55,
  SO4: 0.45,
  Fe: 0.006,
  Mn: 0.004,
  Zn: 0.0027,
  B: 0.011,
  Cu: 0.0005,
  Mo: 0.0002,
}

/** These ride on the water stream, so they follow transpiration and not growth. */
const WITH_WATER: readonly Ion[] = ['Ca', 'B']

/** Parts of the outer concentration that come in with the water. */
const FOLLOWS_CONCENTRATION: Readonly<Partial<Record<Ion, number>>> = { Na: 0.2, Cl: 0.35 }

/** mmol/L at which uptake is half the demand. */
const HALF_MMOL_PER_L: Readonly<Partial<Record<Ion, number>>> = { NO3: 0.1, K: 0.1, NH4: 0.02, P: 0.02 }
const HALF_MACRO_MMOL_PER_L = 0.05
const HALF_MICRO_MMOL_PER_L = 0.0003

export interface Lettuce {
  /** L/h of water and mmol/h of each solute that leave through the roots at this moment */
  drink(atMs: number, mmolPerL: Solutes): { waterLPerHour: number; mmolPerHour: Solutes }
  /** mmol per litre that this bed asks for */
  readonly demandMmolPerL: Readonly<Partial<Record<Ion, number>>>
}

/** A bed of lettuce whose wants differ from the book by 10 to 25 %, every ion to its own side. */
export function growLettuce(startMs: number, utcOffsetMin: number, chance: Chance): Lettuce {
  const demand = drawDemand(chance)
  const scale = chance.factor(0, 0.08)
  const weatherOn = weather(chance)
  const drink = (atMs: number, mmolPerL: Solutes) => {
    const localMs = atMs + utcOffsetMin * 60_000
    const hour = (localMs % DAY_MS) / HOUR_MS
    const { water, growth } = weatherOn(Math.floor((atMs - startMs) / DAY_MS))
    const usualLPerDay = scale * canopyLPerDay((atMs - startMs) / DAY_MS)
    const waterLPerHour = usualLPerDay * water * waterRhythm(hour)
    const growthLPerHour = usualLPerDay * growth * growthRhythm(hour)
    const mmolPerHour = noSolutes()
    for (const ion of IONS) {
      const outer = Math.max(mmolPerL[ion], 0)
      const want = demand[ion]
      if (want === undefined) mmolPerHour[ion] = (FOLLOWS_CONCENTRATION[ion] ?? 0) * outer * waterLPerHour
      else mmolPerHour[ion] = want * reach(ion, outer) * (WITH_WATER.includes(ion) ? waterLPerHour : growthLPerHour)
    }
    return { waterLPerHour, mmolPerHour }
  }
  return { drink, demandMmolPerL: demand }
}

/** A Gompertz canopy: 15 L/day at the start, half of the way to 30 L/day after twelve days. */
function canopyLPerDay(days: number): number {
  return 30 * Math.exp(-Math.LN2 * Math.exp(-days / 14))
}

/** Per hour, one over a day: the square of the sun’s height, and a little all day round. */
function waterRhythm(hour: number): number {
  const through = (hour - SUNRISE_H) / DAY_LENGTH_H
  const sun = through > 0 && through < 1 ? Math.sin(Math.PI * through) ** 2 * (2 / DAY_LENGTH_H) : 0
  return (1 - NIGHT_WATER_SHARE) * sun + NIGHT_WATER_SHARE / 24
}

/** Per hour, one over a day: a forenoon peak, and a second one in the first three hours of night. */
function growthRhythm(hour: number): number {
  const sinceSunrise = (hour - SUNRISE_H + 24) % 24
  if (sinceSunrise < DAY_LENGTH_H) {
    return ((1 - NIGHT_SHARE) / DAY_LENGTH_H) * (1 + 0.35 * Math.cos((2 * Math.PI * (sinceSunrise - 5)) / DAY_LENGTH_H))
  }
  const evening = sinceSunrise < DAY_LENGTH_H + 3
  return (NIGHT_SHARE / NIGHT_LENGTH_H) * (evening ? 1.2 : (NIGHT_LENGTH_H - 3.6) / (NIGHT_LENGTH_H - 3))
}

function reach(ion: Ion, outerMmolPerL: number): number {
  const minor = (DEMAND_MMOL_PER_L[ion] ?? 0) < 0.1
  const half = HALF_MMOL_PER_L[ion] ?? (minor ? HALF_MICRO_MMOL_PER_L : HALF_MACRO_MMOL_PER_L)
  return outerMmolPerL / (outerMmolPerL + half)
}

/**
 * Draws until the whole is physiology: single deviations of this size would spread the net release of base
 * over 5 meq/L, which no lettuce does; between 0.3 and 1.7 meq/L is kept.
 */
function drawDemand(chance: Chance): Partial<Record<Ion, number>> {
  for (let attempt = 0; attempt < 1000; attempt++) {
    const demand: Partial<Record<Ion, number>> = {}
    let baseMeqPerL = 0
    for (const ion of IONS) {
      const usual = DEMAND_MMOL_PER_L[ion]
      if (usual === undefined) continue
      demand[ion] = usual * chance.factor(0.1, 0.25)
      baseMeqPerL -= demand[ion] * (ion === 'P' ? -1 : ION_FACTS[ion].charge)
    }
    if (baseMeqPerL > 0.3 && baseMeqPerL < 1.7) return demand
  }
  throw new Error('no plausible lettuce in a thousand draws: the demand table and the limits of its charge disagree')
}

/** Day-to-day factors of water and growth: each remembers yesterday, and a dry bright day drives both. */
function weather(chance: Chance): (day: number) => { water: number; growth: number } {
  const days: { water: number; growth: number }[] = []
  return (day) => {
    const wanted = Math.max(day, 0)
    while (days.length <= wanted) {
      const before = days.at(-1) ?? { water: 0, growth: 0 }
      const shock = chance.normal(0.1)
      days.push({ water: 0.6 * before.water + shock, growth: 0.5 * before.growth + 0.25 * shock + chance.normal(0.06) })
    }
    const { water, growth } = days[wanted]!
    return { water: Math.exp(water), growth: Math.exp(growth) }
  }
}
