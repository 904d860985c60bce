/** Target bands of all that grows on the bench together. */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { BandSettings, CohortSettings, CoreSettings, CropSettings } from '../settings.ts'

export interface BenchBands {
  readonly elements: readonly BandSettings[]
  readonly ph: { readonly low: number; readonly aim: number; readonly high: number }
}

/**
 * The bands every present crop can live with: the highest low, the lowest high, the mean aim by number of plants.
 * Where crops exclude each other the band closes on the aim. With nothing planted the first crop’s bands hold.
 */
export function benchBands(settings: CoreSettings, cohorts: readonly CohortSettings[], atMs: number): BenchBands {
  const present = cohorts.filter(
    (cohort) =>
      cohort.transplantedAtMs <= atMs && !(cohort.harvestedAtMs !== undefined && cohort.harvestedAtMs <= atMs),
  )
  const shares: { crop: CropSettings; plants: number }[] = []
  for (const cohort of present) {
    const crop = settings.crops.find((candidate) => candidate.id === cohort.crop)
    if (crop) shares.push({ crop, plants: cohort.plants })
  }
  const first = settings.crops[0]
  if (shares.length === 0 && first) shares.push({ crop: first, plants: 1 })
  const elements = Array.from({ length: ELEMENT_COUNT }, (_none, at) => {
    const edges = common(shares, (crop) => crop.bands[at]!)
    return { ...edges, weight: Math.max(...shares.map(({ crop }) => crop.bands[at]!.weight)) }
  })
  return { elements, ph: common(shares, (crop) => ({ low: crop.phLow, aim: crop.phAim, high: crop.phHigh })) }
}

interface Edges {
  readonly low: number
  readonly aim: number
  readonly high: number
}

function common(
  shares: readonly { crop: CropSettings; plants: number }[],
  edgesOf: (crop: CropSettings) => Edges,
): Edges {
  let low = Number.NEGATIVE_INFINITY
  let high = Number.POSITIVE_INFINITY
  let aimSum = 0
  let plantSum = 0
  for (const { crop, plants } of shares) {
    const edges = edgesOf(crop)
    low = Math.max(low, edges.low)
    high = Math.min(high, edges.high)
    aimSum += edges.aim * plants
    plantSum += plants
  }
  const aim = Math.min(Math.max(aimSum / plantSum, Math.min(low, high)), Math.max(low, high))
  return { low: Math.min(low, aim), aim, high: Math.max(high, aim) }
}
