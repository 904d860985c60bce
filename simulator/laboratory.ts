// The laboratory: a bottle goes away, and days later a report comes back.

import { ELEMENTS, type ElementName } from '../src/chemistry/element.ts'
import { toMgPerL } from '../src/chemistry/molar-mass.ts'
import type { FaultBoard } from './faults.ts'
import { createRandom } from './random.ts'
import type { Scenario } from './scenario.ts'
import { alkalinityOf, type Solutes } from './solution.ts'

const DAY_MS = 86_400_000

export type LaboratoryReading =
  | { readonly element: ElementName; readonly mgPerL: number }
  | { readonly element: ElementName; readonly belowMgPerL: number }

export interface LaboratoryReport {
  readonly id: string
  /** when the bottle was filled */
  readonly sampledAtMs: number
  readonly arrivesAtMs: number
  readonly values: readonly LaboratoryReading[]
  readonly conductivityDsPerM: number
  readonly ph: number
  readonly alkalinityMeqPerL: number
}

/** Relative standard deviation and detection limit, mg/L (references 6.1). */
const METHOD: Readonly<Record<ElementName, readonly [relativeSd: number, limitMgPerL: number]>> = {
  'NO3-N': [0.04, 0.1],
  'NH4-N': [0.1, 0.1],
  P: [0.04, 0.05],
  K: [0.04, 0.1],
  Ca: [0.04, 0.1],
  Mg: [0.04, 0.05],
  S: [0.04, 0.1],
  Na: [0.04, 0.1],
  Cl: [0.04, 0.5],
  Fe: [0.08, 0.01],
  Mn: [0.08, 0.005],
  Zn: [0.08, 0.005],
  B: [0.08, 0.01],
  Cu: [0.08, 0.005],
  Mo: [0.15, 0.01],
}
/** A tank is never stirred quite even: one factor for the whole bottle. */
const SAMPLING_SD = 0.015
const CONDUCTIVITY_SD = 0.02
const PH_SD = 0.08
const ALKALINITY_RELATIVE_SD = 0.04
const ALKALINITY_LEAST_SD = 0.03
/** Nitrate written as the ion: NO3 over N. */
const NITRATE_PER_NITROGEN = 62.004 / 14.007

/** What is in the bottle. */
export interface Bottle {
  readonly sampledAtMs: number
  readonly mmolPerL: Solutes
  readonly conductivityDsPerM: number
  readonly ph: number
}

export interface Laboratory {
  take(bottle: Bottle): void
  /** Reports whose day has come, oldest first; each is handed out once. */
  reportsUntil(atMs: number): readonly LaboratoryReport[]
}

/** A laboratory with ordinary skill; `spread.laboratory` scales all its errors. */
export function createLaboratory(scenario: Scenario, seed: number, faults: FaultBoard): Laboratory {
  const random = createRandom(seed, 'laboratory')
  const scale = scenario.spread.laboratory
  let waiting: LaboratoryReport[] = []
  let taken = 0
  return {
    take({ sampledAtMs, mmolPerL, conductivityDsPerM, ph }) {
      taken += 1
      const sampling = 1 + scale * SAMPLING_SD * random.normal()
      const asIon = faults.find('laboratory-nitrate-as-ion') !== undefined
      const values = ELEMENTS.map((element, at): LaboratoryReading => {
        const [sd, limit] = METHOD[element]
        const error = sampling + scale * sd * random.normal()
        const form = asIon && element === 'NO3-N' ? NITRATE_PER_NITROGEN : 1
        const mgPerL = toMgPerL(element, mmolPerL[at]!) * error * form
        return mgPerL < limit ? { element, belowMgPerL: limit } : { element, mgPerL: Number(mgPerL.toPrecision(3)) }
      })
      const alkalinity = alkalinityOf(mmolPerL)
      const alkalinitySd = Math.max(ALKALINITY_LEAST_SD, ALKALINITY_RELATIVE_SD * Math.abs(alkalinity))
      const lateDays = scenario.laboratory.lateDays + (faults.find('laboratory-late')?.days ?? 0)
      waiting.push({
        id: `sample-${taken}`,
        sampledAtMs,
        arrivesAtMs: sampledAtMs + Math.round(lateDays * DAY_MS),
        values,
        conductivityDsPerM: Number((conductivityDsPerM * (1 + scale * CONDUCTIVITY_SD * random.normal())).toFixed(3)),
        ph: Number((ph + scale * PH_SD * random.normal()).toFixed(2)),
        alkalinityMeqPerL: Number((alkalinity + scale * alkalinitySd * random.normal()).toFixed(3)),
      })
    },
    reportsUntil(atMs) {
      const come = waiting.filter(({ arrivesAtMs }) => arrivesAtMs <= atMs)
      waiting = waiting.filter(({ arrivesAtMs }) => arrivesAtMs > atMs)
      return come.sort((a, b) => a.arrivesAtMs - b.arrivesAtMs)
    },
  }
}
