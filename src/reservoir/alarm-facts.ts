/** What the alarms look at, from safety’s raw readings: plant life is watched even where the estimate is lost. */

import type { AlarmFacts, DoubtFact, NodeFact, ProbeFact } from '../core/alarm/alarm-facts.ts'
import { siteDay } from '../core/alarm/site-day.ts'
import { leftOf } from '../core/alarm/stock-book.ts'
import { waterLossLPerH } from '../core/alarm/water-watch.ts'
import { CONDUCTIVITY_GAIN, PH_OFFSET } from '../core/estimate/layout.ts'
import { type RunningOut, runningOutText } from '../core/plan/running-out.ts'
import type { CoreState } from '../core/state.ts'
import type { ProbeRole } from '../safety/limits.ts'
import { rationRuns } from './next-wish.ts'
import { reopenedText } from './reopened-text.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** The facts now; a value is absent where its probe’s last reading is too old to tell. */
export function alarmFacts(settings: ReservoirSettings, state: ReservoirState): AlarmFacts {
  const { limits, alarms } = settings
  const { atMs, safety, core, heard, watch } = state
  const phProbe = probeOf(settings, 'ph')
  const conductivityProbe = probeOf(settings, 'conductivity')
  return {
    atMs,
    isLinkUp: safety.linkUp,
    isDiskWritable: safety.diskWritable,
    isClockSane: safety.clockSane,
    nodes: nodeFacts(settings, state),
    scanSilentMs: atMs - heard.scanAtMs,
    probes: core ? probeFacts(settings, state, core) : [],
    wet: core ? wetProbes(settings, core) : [],
    ...fresh(settings, state, 'flow', 'flowLPerMin'),
    flowMinLPerMin: limits.flowMinLPerMin,
    ...fresh(settings, state, 'temperature', 'temperatureC'),
    ...fresh(settings, state, 'level', 'levelL'),
    levelMinL: limits.levelMinL,
    levelMaxL: limits.levelMaxL,
    ...optional('waterLossLPerH', waterLossLPerH(watch.water)),
    waterLossMaxLPerH: alarms.waterLossMaxLPerH,
    ...fresh(settings, state, 'conductivity', 'conductivityDsPerM'),
    conductivityMinDsPerM: conductivityProbe?.min ?? Number.NEGATIVE_INFINITY,
    conductivityMaxDsPerM: conductivityProbe?.max ?? Number.POSITIVE_INFINITY,
    ...fresh(settings, state, 'ph', 'ph'),
    phMin: phProbe?.min ?? Number.NEGATIVE_INFINITY,
    phMax: phProbe?.max ?? Number.POSITIVE_INFINITY,
    doubts: core ? doubtFacts(settings, core) : [],
    walked: core ? walkedFacts(settings, core) : [],
    trips: safety.trips.map(({ trip, why }) => ({ trip, why })),
    refused: watch.refused,
    ...runsOutFact(state),
    ...optionalText('ration', rationRuns(settings.limits, state)),
    stocks: Object.entries(watch.stocks).map(([stock, account]) => ({ stock, ...leftOf(account, atMs) })),
    ...sampleFact(state),
    unmeetable: core && state.standstill === null ? unmeetable(core) : [],
  }
}

function sampleFact({ core, watch, heard, atMs }: ReservoirState): Pick<AlarmFacts, 'sample'> {
  if (!core) return {}
  const filledAtMs = core.sampledAtMs ?? watch.filledAtMs ?? heard.startedAtMs
  const day = siteDay(filledAtMs, core.utcOffsetMin)
  return { sample: { ageMs: atMs - filledAtMs, day, isFirstFill: core.sampledAtMs === null } }
}

function probeOf({ limits }: ReservoirSettings, role: ProbeRole) {
  return limits.probes.find((candidate) => candidate.role === role)
}

function fresh<K extends string>(
  settings: ReservoirSettings,
  { safety, atMs }: ReservoirState,
  role: ProbeRole,
  key: K,
): Partial<Record<K, number>> {
  const probe = probeOf(settings, role)
  const reading = probe && safety.readings[probe.id]
  const isFresh = reading && reading.quality !== 'bad' && atMs - reading.atMs <= settings.limits.scanAgeMaxMs
  return optional(key, isFresh ? reading.value : undefined)
}

function optionalText<K extends string>(key: K, text: string | undefined): Partial<Record<K, string>> {
  return text === undefined ? {} : ({ [key]: text } as Record<K, string>)
}

function optional<K extends string>(key: K, value: number | undefined): Partial<Record<K, number>> {
  return value === undefined ? {} : ({ [key]: value } as Record<K, number>)
}

function nodeFacts(settings: ReservoirSettings, { heard, atMs }: ReservoirState): readonly NodeFact[] {
  const nodes = new Set([...settings.limits.probes, ...settings.limits.stocks].map(({ node }) => node))
  return [...nodes].sort().map((node) => ({
    node,
    silentMs: atMs - Math.max(heard.nodesAtMs[node] ?? 0, heard.startedAtMs),
  }))
}

/** Silent is one that shows nothing plausible; the meter may rest, but it still speaks. */
function probeFacts(settings: ReservoirSettings, state: ReservoirState, core: CoreState): readonly ProbeFact[] {
  const { atMs, heard, safety } = state
  return settings.core.probes.map(({ id, node, role }, at) => {
    const limits = settings.limits.probes.find((probe) => probe.id === id)
    const reading = safety.readings[id]
    const stuckMs = limits ? (limits.stuckMs ?? settings.limits.stuckMs) : Number.POSITIVE_INFINITY
    return {
      probe: id,
      node,
      role,
      silentMs: atMs - Math.max(core.sense.probes[at]?.atMs ?? 0, heard.startedAtMs),
      isStuck: role !== 'flow' && reading !== undefined && reading.atMs - reading.sameSinceMs >= stuckMs,
    }
  })
}

/** Switches show 1 for wet; one that has been silent for long is told by its silence. */
function wetProbes({ core: { probes } }: ReservoirSettings, core: CoreState): readonly string[] {
  return probes
    .filter(({ role }, at) => role === 'leak' && (core.sense.probes[at]?.value ?? 0) >= 0.5)
    .map(({ id }) => id)
}

/** What the estimate had to bend a probe by. Beyond what a good probe in need of a cleaning shows, it is doubted. */
function doubtFacts({ alarms }: ReservoirSettings, core: CoreState): readonly DoubtFact[] {
  const { mean } = core.history.filter
  const gain = Math.exp(mean[CONDUCTIVITY_GAIN]!) - 1
  const offset = mean[PH_OFFSET]!
  return [
    {
      role: 'conductivity',
      ofLimit: Math.abs(gain) / alarms.conductivityDriftShare,
      text: `EC reads about ${Math.abs(100 * gain).toFixed(0)} % too ${gain > 0 ? 'high' : 'low'}`,
    },
    {
      role: 'ph',
      ofLimit: Math.abs(offset) / alarms.phDrift,
      text: `pH reads about ${Math.abs(offset).toFixed(1)} too ${offset > 0 ? 'high' : 'low'}`,
    },
  ]
}

/** A probe that may have walked stays a person’s matter until it is calibrated: a reading that agrees again proves nothing. */
function walkedFacts({ core: { probes } }: ReservoirSettings, core: CoreState): AlarmFacts['walked'] {
  const { walked = {} } = core.history.filter.memory
  return probes.flatMap(({ id, role }) => {
    const reopened = role === 'level' || role === 'conductivity' || role === 'ph' ? walked[role] : undefined
    return reopened ? [{ probe: id, role, text: reopenedText(reopened) }] : []
  })
}

function runsOutFact({ standstill, atMs, core }: ReservoirState): Pick<AlarmFacts, 'runsOut'> {
  const runsOut: RunningOut | null | undefined = standstill?.runsOut
  if (!standstill || !runsOut || !core) return {}
  const text = `${standstill.why}; ${runningOutText(runsOut, atMs, core.utcOffsetMin)}`
  return { runsOut: { inMs: runsOut.atMs - atMs, text } }
}

const UNMEETABLE = ['over-high', 'no-stock', 'held-back'] as const

function unmeetable({ plan }: CoreState): AlarmFacts['unmeetable'] {
  const texts = new Map<string, string>()
  for (const { kind, element, text } of plan?.notes ?? [])
    if (element !== undefined && UNMEETABLE.some((one) => one === kind) && !texts.has(element)) texts.set(element, text)
  return [...texts].map(([element, text]) => ({ element, text }))
}
