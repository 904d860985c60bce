import { withReading } from './effect.ts'
import { quietly, type Transition } from './happening.ts'
import type { Limits, ProbeLimits, ProbeRole } from './limits.ts'
import { takeMeter } from './make-up.ts'
import type { RawReading, ReadingQuality, SafetyState } from './state.ts'
import { withSwitch } from './switch-lease.ts'

export interface RoleReading {
  readonly role: ProbeRole
  /** in the inside unit of the role: dS/m, pH, °C, L or L/min */
  readonly value: number
  readonly quality: ReadingQuality
  /** the probe’s id; only needed where a node has two probes of one role */
  readonly id?: string
}

/** Takes the raw readings of one scan. Probes that no limit names change nothing. */
export function onReadings(
  limits: Limits,
  state: SafetyState,
  input: { readonly atMs: number; readonly node: string; readonly readings: readonly RoleReading[] },
): Transition {
  let readings: Record<string, RawReading> | null = null
  let { makeUp } = state
  for (const reading of input.readings) {
    const { meter } = limits
    if (meter !== undefined && reading.id === meter.id && input.node === meter.node && reading.role === 'top-up') {
      const isGood = reading.quality === 'good'
      makeUp = takeMeter(meter, makeUp, { counterL: reading.value, isGood, atMs: input.atMs })
    }
    const probe = probeOf(limits, input.node, reading)
    if (probe === undefined) continue
    readings ??= { ...state.readings }
    readings[probe.id] = nextReading(limits, readings[probe.id], reading, input.atMs)
  }
  if (readings === null) return quietly(makeUp === state.makeUp ? state : { ...state, makeUp })
  return withSwitch(limits, withConductivity(limits, { ...state, makeUp, readings }, input), input.atMs)
}

/** The first conductivity probe is the one by which effects are seen; only a reading that is good and possible counts. */
function withConductivity(
  limits: Limits,
  state: SafetyState,
  { atMs, node }: { readonly atMs: number; readonly node: string },
): SafetyState {
  const probe = limits.probes.find(({ role }) => role === 'conductivity')
  if (probe?.node !== node) return state
  const read = state.readings[probe.id]
  if (read?.atMs !== atMs || read.quality !== 'good') return state
  const isPossible = read.value >= probe.min && read.value <= probe.max
  return isPossible ? withReading(limits, state, { atMs, dsPerM: read.value }) : state
}

function probeOf(limits: Limits, node: string, reading: RoleReading): ProbeLimits | undefined {
  return limits.probes.find(
    (probe) =>
      probe.role === reading.role && probe.node === node && (reading.id === undefined || probe.id === reading.id),
  )
}

function nextReading(
  limits: Limits,
  before: RawReading | undefined,
  { role, value, quality }: RoleReading,
  atMs: number,
): RawReading {
  const sameSinceMs = before !== undefined && before.value === value ? before.sameSinceMs : atMs
  const isFlowing = role === 'flow' && quality === 'good' && value >= limits.flowMinLPerMin
  const hasNoGap = before !== undefined && atMs - before.atMs <= limits.scanAgeMaxMs
  const flowingSinceMs = isFlowing ? ((hasNoGap ? before.flowingSinceMs : null) ?? atMs) : null
  return { value, quality, atMs, sameSinceMs, flowingSinceMs }
}
