/** Limits of alarms from the site file; what it leaves out has a default with a reason, or follows from the site. */

import type { Configuration } from '../config/configuration.ts'
import type { AlarmSettings } from '../core/alarm/alarm-settings.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000

/** A hot dry day on a full bench takes about twice the usual; three times that is no crop. Judgement. */
const LOSS_OF_CROP = 3
/** Below this share of the volume an hour, the noise of a level probe looks like a loss. Judgement. */
const LOSS_LEAST_SHARE_PER_H = 0.02

/** What raises an alarm at this site, in ms and inside units. */
export function alarmSettings(configuration: Configuration): AlarmSettings {
  const { alarms } = configuration.site
  const sampleEveryMs = alarms.sampleEveryDays * DAY_MS
  const sampleDueMs = sampleEveryMs + alarms.laboratoryDays * DAY_MS
  return {
    flowDelayMs: alarms.flowDelayMin * MINUTE_MS,
    nodeSilentMs: alarms.nodeSilentMin * MINUTE_MS,
    probeSilentMs: alarms.probeSilentMin * MINUTE_MS,
    levelDelayMs: alarms.levelDelayMin * MINUTE_MS,
    waterWarmC: alarms.waterWarmC,
    waterColdC: alarms.waterColdC,
    waterDelayMs: alarms.waterDelayMin * MINUTE_MS,
    waterLossMaxLPerH: alarms.waterLossMaxLPerH ?? lossMaxLPerH(configuration),
    rangeDelayMs: alarms.rangeDelayMin * MINUTE_MS,
    conductivityDriftShare: alarms.conductivityDriftShare,
    phDrift: alarms.phDrift,
    doubtDelayMs: alarms.doubtDelayH * HOUR_MS,
    refusedCount: alarms.refusedCount,
    runsOutMs: alarms.runsOutH * HOUR_MS,
    stockLeftShare: alarms.stockLeftShare,
    stockLeftDays: alarms.stockLeftDays,
    sampleDueMs,
    sampleOverdueMs: sampleDueMs + sampleEveryMs,
    unmeetableDelayMs: alarms.unmeetableDelayH * HOUR_MS,
    escalation: {
      people: alarms.people.map(({ name }) => name),
      nextAfterMs: alarms.nextPersonMin * MINUTE_MS,
      repeatMs: alarms.repeatMin * MINUTE_MS,
    },
  }
}

/** Three times what all plants drink full grown in an hour of light. */
function lossMaxLPerH({ site, crops }: Configuration): number {
  const { litFrom, litUntil, darkWaterShare } = site.photoperiod
  const litH = Math.max(1, hourOf(litUntil) - hourOf(litFrom))
  const fullLPerDay = site.cohorts.reduce(
    (sum, { crop, plants }) => sum + plants * (crops[crop]?.water.fullLPerDay ?? 0),
    0,
  )
  const drinksLPerH = (fullLPerDay * (1 - darkWaterShare)) / litH
  return Math.max(LOSS_OF_CROP * drinksLPerH, LOSS_LEAST_SHARE_PER_H * site.reservoir.volumeL)
}

function hourOf(time: string): number {
  const [hours, minutes] = time.split(':').map(Number)
  return hours! + minutes! / 60
}
