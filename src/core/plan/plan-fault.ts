// What makes a plan impossible: something it rests on is missing or not a number. Answered in words, with no doses.

import { ELEMENT_COUNT, ELEMENTS } from '../../chemistry/element.ts'
import type { PlanInput } from './plan-input.ts'

/** The first thing wrong with the input, or nothing. Every check says what must hold, so that NaN fails it. */
export function findPlanFault(input: PlanInput): string | undefined {
  const { estimate, forecast, bands, phBand, alkalinityAim, settings } = input
  if (!(estimate.volumeL > 0 && estimate.volumeL < Infinity)) return `the volume is ${estimate.volumeL} L`
  if (!(forecast.intervalMs > 0 && forecast.intervalMs < Infinity)) return `the interval is ${forecast.intervalMs} ms`
  if (!Number.isFinite(input.atMs)) return `the time is ${input.atMs}`
  if (!Number.isFinite(estimate.conductivityDsPerM)) return `conductivity is ${estimate.conductivityDsPerM} dS/m`
  const sums = [estimate.alkalinityMeqPerL, estimate.alkalinitySdMeqPerL, forecast.makeUpL, forecast.alkalinityMeq]
  if (!sums.every(Number.isFinite)) return 'alkalinity or make-up water is not a number'
  const vectors: readonly (readonly [string, Float64Array])[] = [
    ['estimate', estimate.mmolPerL],
    ['standard deviation', estimate.sdMmolPerL],
    ['expected uptake', forecast.uptakeMmol],
    ['make-up', forecast.makeUpMmol],
    ['conductivity response', input.responses.conductivityDsPerMPerMmolPerL],
  ]
  for (const [what, vector] of vectors) {
    const fault = vectorFault(what, vector)
    if (fault !== undefined) return fault
  }
  if (estimate.sdMmolPerL.some((sd) => sd < 0)) return 'a standard deviation is below 0'
  const ph = [phBand.low, phBand.aim, phBand.high, ...(estimate.ph === undefined ? [] : [estimate.ph])]
  if (!ph.every(Number.isFinite)) return 'pH or its band is not a number'
  if (!Object.values(alkalinityAim).every(Number.isFinite)) return 'the alkalinity wanted is not a number'
  if (input.deliveryFactor.length !== settings.stocks.length) return 'delivery factors do not match the stocks'
  return bandFault(bands)
}

function vectorFault(what: string, vector: Float64Array): string | undefined {
  if (vector.length !== ELEMENT_COUNT) return `the ${what} holds ${vector.length} elements of ${ELEMENT_COUNT}`
  const at = vector.findIndex((value) => !Number.isFinite(value))
  return at < 0 ? undefined : `the ${what} of ${ELEMENTS[at]} is ${vector[at]}`
}

function bandFault(bands: PlanInput['bands']): string | undefined {
  if (bands.length !== ELEMENT_COUNT) return `there are ${bands.length} target bands for ${ELEMENT_COUNT} elements`
  const at = bands.findIndex(
    ({ low, aim, high, weight }) => !(low >= 0 && low <= aim && aim <= high && weight >= 0 && weight < Infinity),
  )
  return at < 0 ? undefined : `the target band of ${ELEMENTS[at]} is not low, aim, high in this order`
}
