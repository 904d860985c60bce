// The water that comes out of the tap.

import { ELEMENT_COUNT, ELEMENT_INDEX } from '../src/chemistry/element.ts'
import { equilibriaAt } from './equilibria.ts'
import { createRandom, createWander, type RandomStream } from './random.ts'
import type { Scenario } from './scenario.ts'
import { alkalinityOf, CARBON, closeCharge, type Solutes, solutesFromMg, UNTRACKED } from './solution.ts'

const DAY_MS = 86_400_000
/** mg/L as CaCO3 in one meq/L (half its molar mass, 100.09). */
const CALCIUM_CARBONATE_MG_PER_MEQ = 50.04
/** Of a well closed to the air, where CO2 stands far above that of the air; judgement. */
const WELL_PH = 7.5

/**
 * Make-up water on a day, mmol/L. All its ions wander together and a little each for itself (AR(1), a day's
 * correlation 0.7); its alkalinity follows from them, and the difference to the reported one is untracked charge.
 */
export function createSource(scenario: Scenario, seed: number, startMs: number): (atMs: number) => Solutes {
  const { source } = scenario
  const mean = solutesFromMg(source.elements)
  mean[UNTRACKED] = source.alkalinityMgPerLCaco3 / CALCIUM_CARBONATE_MG_PER_MEQ - alkalinityOf(mean)
  const random = createRandom(seed, 'source')
  const common = createWander(random, source.relativeSd * 0.8, 0.7)
  const own = Array.from({ length: ELEMENT_COUNT }, () => createWander(random, source.relativeSd * 0.6, 0.7))
  let day = Math.floor(startMs / DAY_MS)
  let today = drawWater(mean, common.value(), own)
  return (atMs) => {
    for (const now = Math.floor(atMs / DAY_MS); day < now; day += 1) {
      common.step()
      for (const series of own) series.step()
      today = drawWater(mean, common.value(), own)
    }
    return today
  }
}

function drawWater(mean: Solutes, common: number, own: readonly { value(): number }[]): Solutes {
  const water = mean.map((amount, at) => (at < ELEMENT_COUNT ? amount * Math.exp(common + own[at]!.value()) : amount))
  water[CARBON] = carbonAt(alkalinityOf(water), WELL_PH)
  return water
}

/** Total carbon of a bicarbonate water at a pH, mmol/L; other buffers are traces in it. */
function carbonAt(alkalinityMeqPerL: number, ph: number): number {
  return Math.max(0, alkalinityMeqPerL) * (1 + 10 ** -ph / equilibriaAt(20).k1Carbonic)
}

/**
 * A tank mixed by hand from salts: every element off by its own error, the charges still cancel, and the pH was set
 * with acid or base to near the aim.
 *
 * @returns mmol/L, carbon near that of air at that pH
 */
export function drawFill(fill: Scenario['firstFill'], untrackedSd: number, random: RandomStream): Solutes {
  const aimed = solutesFromMg(fill.elements)
  const drawn = aimed.map((amount) => amount * Math.exp(fill.relativeSd * random.normal()))
  drawn[UNTRACKED] = untrackedSd * random.normal()
  const relativeSd = Array.from({ length: ELEMENT_COUNT }, () => Math.max(fill.relativeSd, 0.02))
  const solution = closeCharge(drawn, relativeSd, alkalinityAtPh(fill.ph, aimed))
  solution[CARBON] = 0.03
  return solution
}

/**
 * Alkalinity that an aerated nutrient solution holds at a pH, meq/L: secondary phosphate with its pairs, about a
 * tenth, 1.10 / 1.15 / 1.36 charges per phosphorus at pH 5.8 / 6.0 / 6.5 (references 3.4), and a trace of bicarbonate.
 */
function alkalinityAtPh(ph: number, solutes: Solutes): number {
  const secondary = 1 / (1 + 10 ** (6.75 - ph))
  return secondary * solutes[ELEMENT_INDEX.P]! + 0.0078 * 10 ** (ph - 6) - 10 ** (3 - ph)
}
