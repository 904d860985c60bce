/** What it costs that nothing is dosed, in the words and units of people. */

import { toMgPerL } from '../chemistry/molar-mass.ts'
import { runningOutText, siteTime } from '../core/plan/running-out.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import type { StandstillView } from './daemon-view.ts'

/** `Not dosed since Mon 14:30 (on hold by Ines): …`; undefined while doses may go. */
export function standstillView({ standstill, core }: ReservoirState, nowMs: number): StandstillView | undefined {
  if (!standstill || !core) return undefined
  const { why, sinceMs, runsOut } = standstill
  const { utcOffsetMin } = core
  const text = `Nothing is dosed since ${siteTime(sinceMs, utcOffsetMin)} (${why}): ${runningOutText(runsOut, nowMs, utcOffsetMin)}.`
  if (!runsOut) return { sinceMs, why, text }
  const { element, atMs, earliestMs, mmolPerL, lowMmolPerL } = runsOut
  const [mgPerL, lowMgPerL] = [toMgPerL(element, mmolPerL), toMgPerL(element, lowMmolPerL)]
  return { sinceMs, why, text, runsOut: { element, atMs, earliestMs, mgPerL, lowMgPerL } }
}
