/** pH and conductivity that stand in each other’s column: either is a number that the other might be. */

import { type Cell, type Trouble, troubleAt } from './cell.ts'
import { judgePlausibility } from './plausibility.ts'
import type { LaboratorySample } from './report.ts'

/** Water or a solution is seldom below the first, and hardly ever conducts so well as the numbers that pH has (judgement). */
const PH_LEAST = 4
const PH_MOST = 10
/** Within this ratio to the one measured a conductivity by composition fits well enough (judgement). */
const FITTING_RATIO = 1.2

/** A doubt at the pH where both numbers fit the ions better in each other’s place. */
export function exchangedPh(cell: Cell, sample: LaboratorySample): Trouble[] {
  const { ph, conductivityDsPerM } = sample
  if (ph === undefined || conductivityDsPerM === undefined || ph >= PH_LEAST) return []
  if (conductivityDsPerM < PH_LEAST || conductivityDsPerM > PH_MOST) return []
  const asIs = misfit(sample)
  if (asIs < Math.log(FITTING_RATIO)) return []
  if (misfit({ ...sample, ph: conductivityDsPerM, conductivityDsPerM: ph }) >= asIs) return []
  const found = `a pH of ${ph} beside ${conductivityDsPerM} mS/cm, which fit the ions better in each other’s place`
  return [troubleAt(cell, found, 'pH and conductivity in their own columns', 'Are the two headings exchanged?')]
}

/** How far the conductivity by composition is from the one measured, as a logarithm. */
function misfit(sample: LaboratorySample): number {
  return Math.abs(Math.log(judgePlausibility(sample).conductivityRatio ?? 1))
}
