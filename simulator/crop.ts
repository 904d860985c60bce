// What the plants take. Growth and transpiration are two processes: nutrients that make tissue follow growth,
// calcium and boron ride on the water, sodium and chloride follow what the solution holds.

import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../src/chemistry/element.ts'
import { createRandom } from './random.ts'
import type { CropScenario, Scenario, Spread } from './scenario.ts'
import { alkalinityOf, CHARGE, closeCharge, SOLUTE_COUNT, type Solutes } from './solution.ts'
import type { Weather } from './weather.ts'

const DAY_MS = 86_400_000
const HOUR_MS = 3_600_000

const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']
const NA = ELEMENT_INDEX.Na
const CL = ELEMENT_INDEX.Cl
const WITH_WATER: readonly number[] = [ELEMENT_INDEX.Ca, ELEMENT_INDEX.B]
const MAJOR: ReadonlySet<ElementName> = new Set(['NO3-N', 'NH4-N', 'P', 'K', 'Ca', 'Mg', 'S'])

/** Half-saturation, mmol/L, of a whole root in a film; references 4.3 for N, K, P, judgement for the rest. */
const HALF_SATURATION: Readonly<Record<ElementName, number>> = {
  'NO3-N': 0.1,
  'NH4-N': 0.05,
  P: 0.02,
  K: 0.1,
  Ca: 0.1,
  Mg: 0.05,
  S: 0.03,
  Na: 0,
  Cl: 0,
  Fe: 0.001,
  Mn: 0.0005,
  Zn: 0.0005,
  B: 0.001,
  Cu: 0.0001,
  Mo: 0.00005,
}
const HALF = ELEMENTS.map((name) => HALF_SATURATION[name])

/** A crop as it truly is on this site. */
export interface TrueCrop {
  readonly id: string
  /** mmol per litre of ordinary transpiration; NO3-N holds all nitrogen beyond the ammonium that is found */
  readonly uptakeMmolPerL: Solutes
  readonly nitrogenMmolPerL: number
  readonly growthFactor: number
  readonly waterFactor: number
  readonly sodiumRatio: number
  readonly chlorideRatio: number
  readonly scenario: CropScenario
}

/**
 * Draws how this site's crop departs from the book: a common growth factor, a factor per element, and the net
 * alkalinity on its own, onto which the elements are then moved (references 9b: independent errors would make an
 * unphysical spread of charge).
 */
export function drawCrop(crop: CropScenario, spread: Spread, seed: number): TrueCrop {
  const random = createRandom(seed, `crop ${crop.id}`)
  const growthFactor = Math.exp(spread.growth * random.normal())
  const waterFactor = Math.exp(spread.water * random.normal())
  const relativeSd = ELEMENTS.map((name) => (MAJOR.has(name) ? spread.uptakeMajor : spread.uptakeMinor))
  const book = new Float64Array(SOLUTE_COUNT)
  const drawn = new Float64Array(SOLUTE_COUNT)
  ELEMENTS.forEach((name, at) => {
    const factor = Math.exp(relativeSd[at]! * random.normal())
    if (at === NA || at === CL) return
    book[at] = crop.uptakeMmolPerL[name] ?? 0
    drawn[at] = book[at]! * factor
  })
  const net = alkalinityOf(book) + spread.netAlkalinityMeqPerL * random.normal()
  const uptakeMmolPerL = relativeSd.some((sd) => sd > 0) ? closeCharge(drawn, relativeSd, net) : drawn
  return {
    id: crop.id,
    uptakeMmolPerL,
    nitrogenMmolPerL: uptakeMmolPerL[NO3]! + uptakeMmolPerL[NH4]!,
    growthFactor,
    waterFactor,
    sodiumRatio: crop.sodiumRatio * Math.exp(spread.uptakeMinor * random.normal()),
    chlorideRatio: crop.chlorideRatio * Math.exp(spread.uptakeMinor * random.normal()),
    scenario: crop,
  }
}

/** Water a plant of that age wants on an ordinary day, L (logistic, steepness a quarter of the half time). */
export function waterPerPlantLPerDay(crop: CropScenario, ageDays: number): number {
  const steep = crop.halfwayDays / 4
  return (
    crop.waterStartLPerDay +
    (crop.waterFullLPerDay - crop.waterStartLPerDay) / (1 + Math.exp(-(ageDays - crop.halfwayDays) / steep))
  )
}

export interface Stand {
  /** Litres a day that all living plants of each crop want on an ordinary day. */
  ordinaryLPerDay(atMs: number): readonly number[]
  readonly crops: readonly TrueCrop[]
}

/** All cohorts of the scenario. A cohort is there from its transplanting to its harvest. */
export function createStand(scenario: Scenario, seed: number, startMs: number): Stand {
  const crops = scenario.crops.map((crop) => drawCrop(crop, scenario.spread, seed))
  const cohorts = scenario.cohorts.map((cohort) => ({
    plants: cohort.plants,
    crop: scenario.crops.findIndex(({ id }) => id === cohort.crop),
    fromMs: startMs + cohort.transplantedDay * DAY_MS,
    untilMs: cohort.harvestedDay === undefined ? Infinity : startMs + cohort.harvestedDay * DAY_MS,
  }))
  let hour = Number.NaN
  let litres: number[] = []
  return {
    crops,
    ordinaryLPerDay(atMs) {
      const now = Math.floor(atMs / HOUR_MS)
      if (now === hour) return litres
      hour = now
      litres = crops.map(() => 0)
      for (const { plants, crop, fromMs, untilMs } of cohorts) {
        if (atMs < fromMs || atMs >= untilMs) continue
        litres[crop]! += plants * waterPerPlantLPerDay(crops[crop]!.scenario, (atMs - fromMs) / DAY_MS)
      }
      return litres
    },
  }
}

export interface Uptake {
  readonly waterL: number
  /** mmol, in the order of the solution vector */
  readonly mmol: Solutes
}

/** What one crop would take in one step from a film of the given composition, before the film's own limits. */
export function uptakeOf(crop: TrueCrop, ordinaryLPerDay: number, facts: UptakeFacts): Uptake {
  const days = facts.stepMs / DAY_MS
  const waterL = ordinaryLPerDay * crop.waterFactor * facts.weather.water * facts.waterFactor * days
  const growthL = ordinaryLPerDay * crop.growthFactor * facts.weather.growth * days
  const fedL = growthL * fed(facts.filmMmolPerL)
  const mmol = new Float64Array(SOLUTE_COUNT)
  for (let at = 0; at < HALF.length; at += 1) {
    const share = limit(facts.filmMmolPerL[at]!, HALF[at]!)
    mmol[at] = crop.uptakeMmolPerL[at]! * (WITH_WATER.includes(at) ? waterL : fedL) * share
  }
  takeNitrogen(mmol, crop, fedL, facts)
  mmol[NA] = crop.sodiumRatio * facts.filmMmolPerL[NA]! * waterL
  mmol[CL] = crop.chlorideRatio * facts.filmMmolPerL[CL]! * waterL
  return { waterL, mmol }
}

/** Of what makes tissue, the scarcest sets the pace (Liebig); a starved plant still takes a fifth. Judgement. */
function fed(filmMmolPerL: Solutes): number {
  const nitrogen = limit(filmMmolPerL[NO3]! + filmMmolPerL[NH4]!, HALF[NO3]!)
  const phosphorus = limit(filmMmolPerL[ELEMENT_INDEX.P]!, HALF[ELEMENT_INDEX.P]!)
  const potassium = limit(filmMmolPerL[ELEMENT_INDEX.K]!, HALF[ELEMENT_INDEX.K]!)
  return 0.2 + 0.8 * Math.min(nitrogen, phosphorus, potassium)
}

export interface UptakeFacts {
  readonly filmMmolPerL: Solutes
  readonly weather: Weather
  readonly stepMs: number
  /** extra drive on water alone, 1 ordinarily */
  readonly waterFactor: number
}

/** In a full stand of a fifth of the volume a day, half of the ammonium goes in six hours of light (references 10). */
const AMMONIUM_PER_LITRE = (Math.LN2 * 4) / 0.2
const AMMONIUM_SHARE_MAX = 0.6

/** Ammonium goes first, as fast as it is found; nitrate covers the rest of the nitrogen. */
function takeNitrogen(mmol: Solutes, crop: TrueCrop, growthL: number, { filmMmolPerL, weather }: UptakeFacts): void {
  const wanted = crop.nitrogenMmolPerL * growthL
  const drive = weather.light > 0 ? 1 : 0.3
  const ammonium = Math.min(AMMONIUM_SHARE_MAX * wanted, AMMONIUM_PER_LITRE * drive * filmMmolPerL[NH4]! * growthL)
  mmol[NH4] = Math.max(0, ammonium)
  mmol[NO3] = (wanted - mmol[NH4]!) * limit(filmMmolPerL[NO3]!, HALF[NO3]!)
}

function limit(mmolPerL: number, half: number): number {
  return mmolPerL > 0 ? mmolPerL / (mmolPerL + half) : 0
}

/**
 * Alkalinity that an uptake leaves behind, meq: positive where more anions than cations went. Roots give it back
 * partly as bicarbonate, partly as hydroxide that draws carbon from the air.
 */
export function alkalinityLeftMeq(mmol: Solutes): number {
  let sum = 0
  for (let at = 0; at < SOLUTE_COUNT; at += 1) sum -= CHARGE[at]! * mmol[at]!
  return sum
}
