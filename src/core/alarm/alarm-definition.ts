/** The alarms there are. Each names cause, consequence, action and the time there is to respond. */

import type { AlarmFacts } from './alarm-facts.ts'

export type AlarmPriority = 'urgent' | 'high' | 'low'

export interface AlarmDefinition {
  readonly id: string
  readonly priority: AlarmPriority
  readonly onDelayMs: number
  /** an alarm that this one already explains is not raised beside it */
  readonly explains: readonly string[]
  readonly text: string
  /** whether the condition holds; `isStanding` lets it need more to clear than to raise (deadband) */
  readonly holds: (facts: AlarmFacts, isStanding: boolean) => boolean
}

const MINUTE_MS = 60_000

/** Plant life first. Film roots wilt in 1–3 h of hot sun without flow; Pythium thrives above 25 °C (references in DEVELOPERS.md). */
export const ALARMS: readonly AlarmDefinition[] = [
  {
    id: 'no-flow',
    priority: 'urgent',
    onDelayMs: 2 * MINUTE_MS,
    explains: [],
    text: 'The circulation has stopped: roots in film channels wilt within 1 to 3 hours of sun. Look at pump, power and filter now.',
    holds: (facts, isStanding) =>
      facts.flowLPerMin !== undefined && facts.flowLPerMin < facts.flowMinLPerMin * (isStanding ? 1.1 : 1),
  },
  {
    id: 'node-silent',
    priority: 'urgent',
    onDelayMs: 3 * MINUTE_MS,
    explains: ['readings-silent'],
    text: 'A pump node is silent: nothing is known of flow and level, and nothing is dosed. Look at its power and network within the hour.',
    holds: (facts) => facts.nodeSilentMs > 2 * MINUTE_MS,
  },
  {
    id: 'readings-silent',
    priority: 'high',
    onDelayMs: 5 * MINUTE_MS,
    explains: [],
    text: 'No plausible reading has come for minutes: the probes are silent or out of range, and nothing is dosed. Look at them today.',
    holds: (facts) => facts.scanSilentMs > 5 * MINUTE_MS,
  },
  {
    id: 'level-low',
    priority: 'high',
    onDelayMs: 5 * MINUTE_MS,
    explains: [],
    text: 'The level is low: a leak, or make-up water that does not come. The pump may run dry within hours; look at valve and floor.',
    holds: (facts, isStanding) =>
      facts.levelL !== undefined && facts.levelL < facts.levelMinL * (isStanding ? 1.02 : 1),
  },
  {
    id: 'level-high',
    priority: 'high',
    onDelayMs: 5 * MINUTE_MS,
    explains: [],
    text: 'The level is high: the make-up valve may be stuck open and dilutes the solution. Close the water within the hour.',
    holds: (facts, isStanding) =>
      facts.levelL !== undefined && facts.levelL > facts.levelMaxL * (isStanding ? 0.98 : 1),
  },
  {
    id: 'water-warm',
    priority: 'high',
    onDelayMs: 30 * MINUTE_MS,
    explains: [],
    text: 'The solution is above 27 °C: roots lack oxygen and rot sets in within days. Shade, chill or aerate today.',
    holds: (facts, isStanding) => facts.temperatureC !== undefined && facts.temperatureC > (isStanding ? 26 : 27),
  },
  {
    id: 'ph-outside',
    priority: 'high',
    onDelayMs: 30 * MINUTE_MS,
    explains: [],
    text: 'The pH reading has left the range in which doses are allowed; nothing is dosed. Check the probe in a buffer, then the solution, today.',
    holds: (facts) => facts.ph !== undefined && !(facts.ph >= facts.phMin && facts.ph <= facts.phMax),
  },
  {
    id: 'tripped',
    priority: 'high',
    onDelayMs: 0,
    explains: [],
    text: 'An interlock has tripped and waits for a technician: nothing is dosed until it is reset with a reason.',
    holds: (facts) => facts.trips.length > 0,
  },
  {
    id: 'disk-not-writable',
    priority: 'high',
    onDelayMs: 0,
    explains: [],
    text: 'The record cannot be written: nothing is dosed. Free space or replace the card today.',
    holds: (facts) => !facts.isDiskWritable,
  },
]
