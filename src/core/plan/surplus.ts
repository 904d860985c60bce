// Elements above their band: no dose lowers them. What will: waiting, or letting part of the solution go.

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { LevelPath } from './level-path.ts'
import type { PlanNote } from './plan.ts'
import type { PlanInput } from './plan-input.ts'
import { duration, figure, milligrams, spoken } from './wording.ts'

/** No more than this part of the solution goes at once: roots and the estimate both need time to follow. */
const SLICE_SHARE_MAX = 0.1

/** A note for every element above its high edge, with the figures of each way down. */
export function noteSurpluses(input: PlanInput, paths: readonly LevelPath[]): PlanNote[] {
  const notes: PlanNote[] = []
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    if (paths[at]!.presentMmolPerL > paths[at]!.band.high) notes.push(noteSurplus(input, paths[at]!, at))
  }
  return notes
}

function noteSurplus(input: PlanInput, path: LevelPath, at: number): PlanNote {
  const { element, presentMmolPerL, sdMmolPerL, band } = path
  const source = input.settings.source.mmolPerL[at]!
  const level = `${spoken(element)} is about ${milligrams(element, presentMmolPerL)} ± ${milligrams(element, sdMmolPerL, 2)} mg/L, above its high edge of ${milligrams(element, band.high)}, and no stock lowers it`
  const wait = waiting(input, path, at)
  const leach = leaching(input, path, at)
  const pure = pureWater(input, path, at)
  const renew = renewal(path, source)
  const figures = {
    presentMmolPerL,
    highMmolPerL: band.high,
    sourceMmolPerL: source,
    ...wait.figures,
    ...leach.figures,
    ...pure.figures,
    ...renew.figures,
  }
  return { kind: 'over-high', element, text: `${level}. ${wait.text}${leach.text}${pure.text} ${renew.text}`, figures }
}

interface Way {
  readonly text: string
  readonly figures: Readonly<Record<string, number>>
}

/** How long uptake needs when none of it is dosed. */
function waiting(input: PlanInput, path: LevelPath, at: number): Way {
  const { estimate, day: forecast = input.forecast } = input
  const falls = (forecast.uptakeMmol[at]! - forecast.makeUpMmol[at]!) / estimate.volumeL
  if (!(falls > 0))
    return { text: 'Uptake does not outrun what make-up water brings, so it will not fall by itself.', figures: {} }
  const waitMs = ((path.presentMmolPerL - path.band.high) / falls) * forecast.intervalMs
  return { text: `Uptake alone brings it to the edge in about ${duration(waitMs)}.`, figures: { waitMs } }
}

/** The part of the water used that must drain so that it stays at the edge: (s - u)/(c - s), nothing drained ends at s/p. */
function leaching(input: PlanInput, path: LevelPath, at: number): Way {
  const { settings, day: forecast = input.forecast } = input
  const source = settings.source.mmolPerL[at]!
  const { high } = path.band
  if (!(forecast.makeUpL > 0 && source < high)) return { text: '', figures: {} }
  const leachingShare = (source - forecast.uptakeMmol[at]! / forecast.makeUpL) / (high - source)
  if (!(leachingShare > 0)) return { text: '', figures: {} }
  const text = ` Letting go ${figure(100 * leachingShare, 2)} % of what is taken up would hold it at the edge.`
  return { text, figures: { leachingShare } }
}

/** The part of the make-up that would have to be reverse-osmosis water, so that the rest brings what the crop takes: 1 - u/s. */
function pureWater(input: PlanInput, path: LevelPath, at: number): Way {
  const { settings, day: forecast = input.forecast } = input
  const source = settings.source.mmolPerL[at]!
  if (!(forecast.makeUpL > 0 && source > 0)) return { text: '', figures: {} }
  const pureWaterShare = 1 - Math.max(0, forecast.uptakeMmol[at]!) / (forecast.makeUpL * source)
  if (!(pureWaterShare > 0)) return { text: '', figures: {} }
  const part = pureWaterShare > 0.995 ? 'all' : `${figure(100 * pureWaterShare, 2)} %`
  const text = ` With ${part} of the make-up as reverse-osmosis water ${spoken(path.element)} would not rise; the recipe is then made anew for that water.`
  return { text, figures: { pureWaterShare } }
}

/** One renewal, in slices; each slice leaves its part of the surplus over the source water. */
function renewal({ element, presentMmolPerL, band }: LevelPath, source: number): Way {
  if (!(source < band.high)) {
    const text = `Renewal with this source water does not help: it brings ${milligrams(element, source)} mg/L itself; another source, or a share of reverse-osmosis water, would.`
    return { text, figures: {} }
  }
  const keptShare = (band.high - source) / (presentMmolPerL - source)
  const renewalShare = 1 - keptShare
  const slices = Math.max(1, Math.ceil(Math.log(keptShare) / Math.log(1 - SLICE_SHARE_MAX) - 1e-9))
  const sliceShare = 1 - keptShare ** (1 / slices)
  const percent = (share: number) => `${figure(100 * share, 2)} %`
  const how =
    slices === 1
      ? `Renewing ${percent(renewalShare)} of the solution with source water brings it there`
      : `Renewing with source water in ${slices} slices of ${percent(sliceShare)} brings it there (${percent(renewalShare)} if done at once, which is not advised)`
  const text = `${how}; put back the other elements by weight or let the pumps do it.`
  return { text, figures: { renewalShare, slices, sliceShare } }
}
