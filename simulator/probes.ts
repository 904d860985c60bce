// What the probes say, which is never quite what is there.

import type { ScanMessage } from '../src/contract/message.ts'
import { toInsideUnit, type UnitCode } from '../src/contract/unit.ts'
import type { FaultBoard } from './faults.ts'
import { createRandom, type RandomStream } from './random.ts'
import type { ProbeScenario, Scenario, Spread } from './scenario.ts'

const MONTH_DAYS = 30
const DAY_MS = 86_400_000

/** The truth at the probes. */
export interface Senses {
  /** at the water's own temperature */
  readonly conductivityAtTDsPerM: number
  readonly ph: number
  readonly temperatureC: number
  readonly tankL: number
  readonly topUpL: number
  readonly flowLPerMin: number
}

export type Reading = ScanMessage['readings'][number]

/** Compensation that a common conductivity meter applies, per °C about 25: common practice. */
const COMPENSATION_PER_C = 0.02

interface Errors {
  readonly gain: number
  readonly offset: number
  readonly driftPerDay: number
  readonly noise: number
}

interface Memory {
  last: number | undefined
  meterSeenL: number
  meterCountL: number
  openSinceMs: number | undefined
}

export interface Probes {
  read(probe: ProbeScenario, senses: Senses, atMs: number): Reading | undefined
}

/** Probes with errors drawn once each: gain, offset and drift stay, noise is new with every reading. */
export function createProbes(scenario: Scenario, seed: number, startMs: number, faults: FaultBoard): Probes {
  const errors = new Map<string, { errors: Errors; memory: Memory; random: RandomStream }>()
  for (const probe of scenario.nodes.flatMap((node) => node.probes)) {
    const random = createRandom(seed, `probe ${probe.id}`)
    const memory = { last: undefined, meterSeenL: 0, meterCountL: 0, openSinceMs: undefined }
    errors.set(probe.id, { errors: drawErrors(probe, scenario.spread, random), memory, random })
  }
  return {
    read(probe, senses, atMs) {
      const own = errors.get(probe.id)
      if (!own) throw new Error(`the plant has no probe '${probe.id}'`)
      const clean = cleanValue(probe, senses, own.memory, faults)
      const days = (atMs - startMs) / DAY_MS
      const value = spoil(probe, clean, own.errors, { random: own.random, days, atMs, faults })
      return toReading(probe, value, { memory: own.memory, faults, atMs })
    },
  }
}

function drawErrors(probe: ProbeScenario, spread: Spread, random: RandomStream): Errors {
  const sign = random.uniform() < 0.5 ? -1 : 1
  switch (probe.quantity) {
    case 'conductivity':
      return {
        gain: 1 + sign * random.between(spread.conductivityGainLow, spread.conductivityGainHigh),
        offset: 0,
        // Scale and film make it read low, never high (references 8).
        driftPerDay: (-spread.conductivityDriftPerMonth * random.between(0.5, 1.5)) / MONTH_DAYS,
        noise: spread.conductivityNoise,
      }
    case 'ph':
      return {
        gain: 1,
        offset: spread.phOffset * random.normal(),
        driftPerDay: (sign * spread.phDriftPerMonth * random.between(0.5, 1.5)) / MONTH_DAYS,
        noise: spread.phNoise,
      }
    case 'level':
      return { gain: 1, offset: 0, driftPerDay: 0, noise: spread.levelNoise }
    case 'top-up':
      return { gain: 1 + spread.meterGain * random.normal(), offset: 0, driftPerDay: 0, noise: 0 }
    case 'flow':
      return { gain: 1, offset: 0, driftPerDay: 0, noise: 0.02 }
    default:
      return { gain: 1, offset: 0.15 * random.normal(), driftPerDay: 0, noise: 0.04 }
  }
}

/** The quantity itself, in the unit used inside. */
function cleanValue(probe: ProbeScenario, senses: Senses, memory: Memory, faults: FaultBoard): number {
  switch (probe.quantity) {
    case 'conductivity':
      return senses.conductivityAtTDsPerM / (1 + COMPENSATION_PER_C * (senses.temperatureC - 25))
    case 'ph':
      return senses.ph
    case 'temperature':
      return senses.temperatureC
    case 'level':
      return senses.tankL
    case 'flow':
      return senses.flowLPerMin
    case 'top-up': {
      if (!faults.find('meter-stopped', probe.id)) memory.meterCountL += senses.topUpL - memory.meterSeenL
      memory.meterSeenL = senses.topUpL
      return memory.meterCountL
    }
  }
}

interface Spoiling {
  readonly random: RandomStream
  readonly days: number
  readonly atMs: number
  readonly faults: FaultBoard
}

/** Adds the probe's own errors and the faults that bend a value. Relative noise except for pH and temperature. */
function spoil(probe: ProbeScenario, clean: number, errors: Errors, { random, days, atMs, faults }: Spoiling): number {
  const absolute = probe.quantity === 'ph' || probe.quantity === 'temperature'
  const drift = faults.find('probe-drift', probe.id)
  const drifted = errors.driftPerDay * days + (drift ? drift.perDay * faults.ageDays(drift, atMs) : 0)
  const noisy = faults.find('probe-noisy', probe.id)
  const noise = (errors.noise + (noisy?.sd ?? 0)) * random.normal()
  const step = faults.find('probe-step', probe.id)?.by ?? 0
  if (absolute) return clean + errors.offset + drifted + noise + step
  return clean * errors.gain * (1 + drifted) * (1 + noise) + step
}

/** Smallest step that a probe of each kind shows, in the inside unit. */
const RESOLUTION = { conductivity: 0.001, ph: 0.01, temperature: 0.1, level: 0.1, 'top-up': 0.1, flow: 0.1 } as const
/** A meter counts whole pulses; all else is rounded. */
const shown = (probe: ProbeScenario, value: number) => {
  const step = RESOLUTION[probe.quantity]
  const count = probe.quantity === 'top-up' ? Math.floor(value / step + 1e-9) : Math.round(value / step)
  return probe.quantity === 'ph' || probe.quantity === 'temperature' ? count * step : Math.max(0, count * step)
}

interface Showing {
  readonly memory: Memory
  readonly faults: FaultBoard
  readonly atMs: number
}

function toReading(probe: ProbeScenario, value: number, { memory, faults, atMs }: Showing): Reading | undefined {
  if (faults.find('probe-silent', probe.id)) return undefined
  const inside = faultyValue(probe, value, { memory, faults, atMs })
  memory.last = inside
  const reading = { id: probe.id, value: inUnit(shown(probe, inside), probe.unit), unit: probe.unit }
  return faults.find('probe-bad-quality', probe.id) ? { ...reading, quality: 'bad' } : reading
}

function faultyValue(probe: ProbeScenario, value: number, { memory, faults, atMs }: Showing): number {
  if (faults.find('probe-stuck', probe.id)) return memory.last ?? value
  if (faults.find('probe-dry', probe.id)) return 0
  if (!faults.find('ph-cable-open', probe.id)) {
    memory.openSinceMs = undefined
    return value
  }
  // An open input drifts to the rail within an hour.
  memory.openSinceMs ??= atMs
  return Math.min(14, 7 + (7 * (atMs - memory.openSinceMs)) / 3_600_000)
}

/** The inverse of the contract's conversion, rounded to what a node would send. */
function inUnit(inside: number, unit: UnitCode): number {
  const offset = toInsideUnit(0, unit)
  const factor = toInsideUnit(1, unit) - offset
  return Number(((inside - offset) / factor).toPrecision(9))
}
