/** What the probes read over one step of the grid and what is believed of the water now, as a line for the log. */

import { MACRONUTRIENTS } from '../chemistry/element.ts'
import type { FusedObservation } from '../reservoir/record.ts'
import type { EstimateView } from './daemon-view.ts'

/** Readings first, what is missing said in words; then the estimate in mg/L where there is one. */
export function observedText(observation: FusedObservation, estimate: EstimateView | undefined): string {
  const { conductivityDsPerM, ph, levelL, temperatureC, flowing } = observation
  const read = [
    conductivityDsPerM === undefined ? 'no EC' : `EC ${conductivityDsPerM.toFixed(2)} mS/cm`,
    ph === undefined ? 'no pH' : `pH ${ph.toFixed(2)}`,
    ...(levelL === undefined ? [] : [`level ${levelL.toFixed(0)} L`]),
    ...(temperatureC === undefined ? [] : [`water ${temperatureC.toFixed(1)} °C`]),
    ...(flowing === false ? ['no flow'] : []),
  ].join(', ')
  return estimate ? `Read ${read}; believed, mg/L: ${believed(estimate)}` : `Read ${read}`
}

function believed({ elements }: EstimateView): string {
  return MACRONUTRIENTS.flatMap((name) => {
    const element = elements[name]
    return element ? [`${name} ${element.mgPerL.toFixed(0)}±${element.sdMgPerL.toFixed(0)}`] : []
  }).join(', ')
}
