// A used reservoir as its laboratory report tells it.

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMmolPerL } from '../../chemistry/molar-mass.ts'
import type { LaboratorySample } from '../laboratory/report.ts'
import type { RecipeBand } from '../recipe/recipe.ts'

export interface UsedReservoir {
  /** mmol/L in the order of ELEMENTS */
  readonly mmolPerL: Float64Array
  /** not in the report, and taken to stand at their aims: nothing is weighed for what nobody has measured */
  readonly unmeasured: readonly ElementName[]
  /** below a limit of the laboratory, and taken at half of it */
  readonly belowLimit: readonly ElementName[]
  readonly conductivityDsPerM?: number
  readonly ph?: number
}

/** @param bands in the order of ELEMENTS, mmol/L */
export function usedReservoir(sample: LaboratorySample, bands: readonly RecipeBand[]): UsedReservoir {
  const unmeasured: ElementName[] = []
  const belowLimit: ElementName[] = []
  const mmolPerL = Float64Array.from(ELEMENTS, (element, at) => {
    const value = sample.values.find((one) => one.element === element)
    if (value === undefined) {
      unmeasured.push(element)
      return bands[at]!.aim
    }
    if ('mgPerL' in value) return toMmolPerL(element, value.mgPerL)
    belowLimit.push(element)
    return toMmolPerL(element, value.belowMgPerL / 2)
  })
  const { conductivityDsPerM, ph } = sample
  return {
    ...{ mmolPerL, unmeasured, belowLimit },
    ...(conductivityDsPerM === undefined ? {} : { conductivityDsPerM }),
    ...(ph === undefined ? {} : { ph }),
  }
}
