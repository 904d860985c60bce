/** What the alarms look at, from safety’s raw readings: plant life is watched even where the estimate is lost. */

import type { AlarmFacts } from '../core/alarm/alarm-facts.ts'
import type { ProbeRole } from '../safety/limits.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** The facts now; a value is absent where its probe’s last reading is too old to tell. */
export function alarmFacts(settings: ReservoirSettings, state: ReservoirState): AlarmFacts {
  const { limits } = settings
  const { atMs, safety } = state
  const fresh = (role: ProbeRole): number | undefined => {
    const probe = limits.probes.find((candidate) => candidate.role === role)
    const reading = probe && safety.readings[probe.id]
    return reading && atMs - reading.atMs <= limits.scanAgeMaxMs ? reading.value : undefined
  }
  const phProbe = limits.probes.find((candidate) => candidate.role === 'ph')
  return {
    atMs,
    scanSilentMs: atMs - state.heard.scanAtMs,
    nodeSilentMs: nodeSilentMs(state),
    ...optional('flowLPerMin', fresh('flow')),
    flowMinLPerMin: limits.flowMinLPerMin,
    ...optional('temperatureC', fresh('temperature')),
    ...optional('levelL', fresh('level')),
    levelMinL: limits.levelMinL,
    levelMaxL: limits.levelMaxL,
    ...optional('ph', fresh('ph')),
    phMin: phProbe?.min ?? Number.NEGATIVE_INFINITY,
    phMax: phProbe?.max ?? Number.POSITIVE_INFINITY,
    trips: safety.trips.map((trip) => trip.trip),
    isDiskWritable: safety.diskWritable,
  }
}

function optional<K extends string>(key: K, value: number | undefined): Partial<Record<K, number>> {
  return value === undefined ? {} : ({ [key]: value } as Record<K, number>)
}

function nodeSilentMs(state: ReservoirState): number {
  let longest = 0
  for (const node of Object.values(state.safety.nodes)) {
    const heardAtMs = Math.max(node.heartbeat?.atMs ?? 0, state.heard.startedAtMs)
    longest = Math.max(longest, state.atMs - heardAtMs)
  }
  return longest
}
