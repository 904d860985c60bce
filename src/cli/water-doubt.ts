/** What does not fit in the report of a source water: said beside the verdict, which is given all the same. */

import { inorganicCarbonMmolPerL } from '../chemistry/acidity.ts'
import { closedCarbon } from '../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../chemistry/conductivity.ts'
import type { ElementName } from '../chemistry/element.ts'
import { judgePlausibility } from '../formulation/laboratory/plausibility.ts'
import type { LaboratorySample } from '../formulation/laboratory/report.ts'
import type { Water } from '../formulation/water/water.ts'

/** A water may be balanced without these. */
const SPARE: ReadonlySet<ElementName> = new Set(['P', 'K'])

/** Calculated over measured conductivity beyond which it is told; Standard Methods 1030E, from memory. */
const RATIO_FITTING = { least: 0.9, most: 1.1 }

/** Sentences for a person; none where the figures fit, or are too few to tell. */
export function doubtsOf({ sample, water }: { sample?: LaboratorySample; water: Water }): string[] {
  if (sample?.alkalinityMeqPerL === undefined) return []
  const judged = judgePlausibility(sample)
  if (judged.missing.some((name) => !SPARE.has(name))) return []
  const { isBalanced, balancePercent, allowedPercent } = judged
  const ratio = conductivityRatio(water)
  const ask = 'Something may have been read in another form than was meant, or be missing: ask the laboratory.'
  return [
    ...(isBalanced
      ? []
      : [
          `The charges of the report are off by ${balancePercent.toFixed(1)} %, where ${allowedPercent.toFixed(1)} % is allowed (Standard Methods 1030E). ${ask}`,
        ]),
    ...(ratio === undefined || (ratio >= RATIO_FITTING.least && ratio <= RATIO_FITTING.most)
      ? []
      : [`The ions make ${(100 * ratio).toFixed(0)} % of the conductivity that was measured. ${ask}`]),
  ]
}

/** A water as it was drawn still holds its carbon dioxide, so its bicarbonate follows from pH and alkalinity. */
function conductivityRatio({ mmolPerL, alkalinity, ph, conductivityDsPerM }: Water): number | undefined {
  if (alkalinity === undefined || ph === undefined || !(conductivityDsPerM !== undefined && conductivityDsPerM > 0)) {
    return undefined
  }
  const carbon = closedCarbon(inorganicCarbonMmolPerL(mmolPerL, ph, alkalinity.meqPerL))
  return conductivity25DsPerM(mmolPerL, ph, carbon) / conductivityDsPerM
}
