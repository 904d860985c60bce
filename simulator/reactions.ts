// What happens to the solution without plants or people: air, scale, bacteria, light.

import { ELEMENT_INDEX } from '../src/chemistry/element.ts'
import type { Equilibria } from './equilibria.ts'
import type { RandomStream } from './random.ts'
import { CARBON, type Solutes, UNTRACKED } from './solution.ts'
import type { Speciation } from './speciation.ts'
import { AT } from './species.ts'

const DAY_MS = 86_400_000
const HOUR_MS = 3_600_000

/** Brushite, CaHPO4·2H2O, log K -6.59 (Gregory, Moreno & Brown 1970, from memory). */
const BRUSHITE_PRODUCT = 10 ** -6.59
/** Calcite, log K -8.48 (Plummer & Busenberg 1982). */
const CALCITE_PRODUCT = 10 ** -8.48
/** Below this no scale was ever seen in a film channel: judgement. */
const SCALE_PH = 6.5
const LOSS_PH = 6.3

const P = ELEMENT_INDEX.P
const CA = ELEMENT_INDEX.Ca
const FE = ELEMENT_INDEX.Fe
const NH4 = ELEMENT_INDEX['NH4-N']
const NO3 = ELEMENT_INDEX['NO3-N']

/** Rates of this site, drawn once. */
export interface SiteRates {
  /** time constant of the exchange with air, h */
  readonly airHours: number
  /** mmol/L a day per unit of supersaturation */
  readonly scaleMmolPerLDay: number
  /** mmol/L a day per unit of supersaturation with calcite */
  readonly limescaleMmolPerLDay: number
  readonly nitrificationPerDay: number
  readonly denitrificationPerDay: number
  readonly phosphateLossPerDay: number
  readonly ironLossPerDay: number
}

/** Draws the site's rates; ranges of references 10 (loss 0.5 to 2 % a day), the others judgement. */
export function drawRates(random: RandomStream): SiteRates {
  return {
    airHours: random.between(0.5, 1.2),
    scaleMmolPerLDay: random.between(0.02, 0.06),
    limescaleMmolPerLDay: random.between(0.02, 0.05),
    nitrificationPerDay: random.between(0.02, 0.12),
    denitrificationPerDay: random.between(0, 0.004),
    phosphateLossPerDay: random.between(0.005, 0.02),
    ironLossPerDay: random.between(0.005, 0.02),
  }
}

export interface ReactionFacts {
  readonly stepMs: number
  readonly litres: number
  readonly speciation: Speciation
  readonly equilibria: Equilibria
  readonly logPco2: number
}

/**
 * Change of amounts in one step, mmol, for a body of water whose speciation is known.
 *
 * Carbon moves toward Henry's law with the air; calcium and phosphate leave one to one as brushite, slowly, above
 * pH 6.5 and above saturation, and as amorphous phosphate above pH 6.3; calcite leaves above its own; iron leaves its chelate; ammonium becomes
 * nitrate; a little nitrate is lost to the air. Charges follow by themselves: 1 mmol nitrified costs 2 meq.
 */
export function react(amounts: Solutes, rates: SiteRates, facts: ReactionFacts): Solutes {
  const days = facts.stepMs / DAY_MS
  const change = new Float64Array(amounts.length)
  const excess = facts.speciation.molPerL[AT.CO2]! * 1000 - facts.equilibria.henryCo2 * 10 ** facts.logPco2 * 1000
  change[CARBON] = Math.max(-amounts[CARBON]! * 0.5, -excess * facts.litres * (facts.stepMs / HOUR_MS / rates.airHours))
  const scale = scaleMmol(amounts, rates, facts) * days
  change[P] = -scale
  const limescale = limescaleMmol(amounts, rates, facts) * days
  change[CA] = -scale - limescale
  change[CARBON] -= limescale
  change[FE] = -amounts[FE]! * rates.ironLossPerDay * above(facts.speciation.ph, LOSS_PH) * days
  const nitrified = amounts[NH4]! * rates.nitrificationPerDay * days
  change[NH4] = -nitrified
  change[NO3] = nitrified - amounts[NO3]! * rates.denitrificationPerDay * days
  return change
}

/** Calcium phosphate lost a day at this moment, mmol. */
function scaleMmol(amounts: Solutes, rates: SiteRates, { litres, speciation }: ReactionFacts): number {
  const saturation = speciation.calciumPhosphateActivity / BRUSHITE_PRODUCT
  const brushite = Math.max(0, saturation - 1) * rates.scaleMmolPerLDay * litres * above(speciation.ph, SCALE_PH)
  const amorphous = amounts[P]! * rates.phosphateLossPerDay * above(speciation.ph, LOSS_PH)
  return Math.min(brushite + amorphous, amounts[P]!, amounts[CA]!)
}

/** Calcium carbonate lost a day at this moment, mmol: hard water that nobody acidifies furs the tank. */
function limescaleMmol(amounts: Solutes, rates: SiteRates, { litres, speciation }: ReactionFacts): number {
  const excess = Math.max(0, speciation.calciumCarbonateActivity / CALCITE_PRODUCT - 1)
  return Math.min(excess * rates.limescaleMmolPerLDay * litres, amounts[CA]!, amounts[CARBON]!)
}

/** 0 below a pH, 1 from 0.4 above it, straight between: no real threshold is sharp. */
function above(ph: number, from: number): number {
  return Math.min(1, Math.max(0, (ph - from) / 0.4))
}

/** Organic acids of roots and other charge outside the book wander by about this much a day, meq/L. Judgement. */
const EXUDATE_PER_DAY = 0.03

/** One hour's step of the untracked charge, meq per litre: it leans back toward nothing within about two weeks. */
export function exudeMeqPerL(solutesPerL: Solutes, random: RandomStream, spreadMeqPerL: number): number {
  const lean = -solutesPerL[UNTRACKED]! / (14 * 24)
  return lean + (spreadMeqPerL / 0.12) * EXUDATE_PER_DAY * Math.sqrt(1 / 24) * random.normal()
}
