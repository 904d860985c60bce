/** How fast water leaves, from level and make-up meter over the last hour: a leak shows here before the floor is wet. */

const MINUTE_MS = 60_000
/** One look in five minutes for an hour: the noise of two levels is then small beside a leak. Judgement. */
const SPACING_MS = 5 * MINUTE_MS
const WINDOW_MS = 60 * MINUTE_MS
const LEAST_MS = 30 * MINUTE_MS
/** Levels at either end are means of so many looks. */
const ENDS = 3

interface Look {
  readonly atMs: number
  readonly levelL: number
  readonly meterL: number
}

/** Oldest first; empty until the flow has been steady for a while. */
export type WaterWatch = readonly Look[]

/**
 * Takes a look. Where level or flow is unknown or the circulation stands, the watch begins anew: film that drains back
 * or fills again is no water lost.
 *
 * @param seen.meterL metered make-up, L; 0 where no meter is fitted, so that only a falling level shows
 */
export function lookAtWater(
  watch: WaterWatch,
  seen: { readonly atMs: number; readonly levelL?: number; readonly meterL: number; readonly isFlowing: boolean },
): WaterWatch {
  const { atMs, levelL, meterL, isFlowing } = seen
  if (levelL === undefined || !isFlowing) return watch.length === 0 ? watch : []
  const last = watch.at(-1)
  if (last && atMs - last.atMs < SPACING_MS) return watch
  if (last && meterL < last.meterL) return [{ atMs, levelL, meterL }]
  return [...watch.filter((look) => atMs - look.atMs <= WINDOW_MS), { atMs, levelL, meterL }]
}

/** Water that left over the window, L/h; undefined before half an hour was seen. */
export function waterLossLPerH(watch: WaterWatch): number | undefined {
  if (watch.length < 2 * ENDS) return undefined
  const [from, to] = [meanOf(watch.slice(0, ENDS)), meanOf(watch.slice(-ENDS))]
  const lengthMs = to.atMs - from.atMs
  if (watch.at(-1)!.atMs - watch[0]!.atMs < LEAST_MS || lengthMs <= 0) return undefined
  return ((from.levelL - to.levelL + (to.meterL - from.meterL)) * WINDOW_MS) / lengthMs
}

function meanOf(looks: readonly Look[]): Look {
  const mean = (of: (look: Look) => number) => looks.reduce((sum, look) => sum + of(look), 0) / looks.length
  return { atMs: mean((look) => look.atMs), levelL: mean((look) => look.levelL), meterL: mean((look) => look.meterL) }
}
