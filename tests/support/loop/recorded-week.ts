/** Two days of the test bench in observe mode, recorded once; reports and acts are slipped in where a test wants them. */

import type { Configuration } from '../../../src/config/configuration.ts'
import { configurationHash } from '../../../src/config/configuration-hash.ts'
import type { CoreState } from '../../../src/core/state.ts'
import { createReservoir, type Effect, type Input, type Reservoir } from '../../../src/reservoir/index.ts'
import { decodeSnapshot } from '../../../src/reservoir/snapshot.ts'
import type { ReservoirState } from '../../../src/reservoir/state.ts'
import { DAY_MS, inputsOf, LoopBench, START_MS } from './bench.ts'

export const RECORD_END_MS = START_MS + 2 * DAY_MS

/** A bench whose EC sinks by day, whose pH climbs, and whose float valve lets water in. */
export function recordDays(configuration: Configuration): readonly Input[] {
  const bench = new LoopBench(configuration)
  bench.start()
  for (let minute = 0; bench.nowMs < RECORD_END_MS; minute += 5) {
    bench.shown['ec-1'] = 1.72 - 0.00003 * minute + 0.01 * Math.sin(minute / 300)
    bench.shown['ph-1'] = 5.9 + 0.00004 * minute
    bench.shown['level-1'] = 208 + Math.sin(minute / 40)
    bench.shown['meter-1'] = 1000 + Math.floor(minute / 120)
    bench.minutes(5)
  }
  // A scan every five minutes says as much to the estimate and is replayed many times as fast.
  return inputsOf(bench).filter(({ kind, atMs }) => {
    const minute = atMs / 60_000
    if (kind === 'scan') return minute % 5 === 0
    return kind === 'tick' ? minute % 60 === 0 : kind !== 'heartbeat'
  })
}

/** The reservoir after the recorded inputs with others slipped in by their time of arrival, after what came by then. */
export function after(
  configuration: Configuration,
  recorded: readonly Input[],
  slipped: readonly Input[] = [],
): { readonly reservoir: Reservoir; readonly effects: readonly Effect[] } {
  const reservoir = createReservoir(configuration)
  const effects: Effect[] = []
  const waiting = [...slipped].sort((one, other) => one.atMs - other.atMs)
  for (const input of recorded) {
    while (waiting[0] && waiting[0].atMs < input.atMs) effects.push(...reservoir.handle(waiting.shift()!))
    effects.push(...reservoir.handle(input))
  }
  for (const input of waiting) effects.push(...reservoir.handle(input))
  let ticks = 0
  while (coreOf(configuration, reservoir).history.rerun && ticks++ < 10_000)
    effects.push(...reservoir.handle({ kind: 'tick', atMs: RECORD_END_MS }))
  return { reservoir, effects }
}

export function stateOf(configuration: Configuration, reservoir: Reservoir): ReservoirState {
  const read = decodeSnapshot<ReservoirState>(reservoir.snapshot(), configurationHash(configuration))
  if (read.kind !== 'state') throw new Error(read.why)
  return read.state
}

export function coreOf(configuration: Configuration, reservoir: Reservoir): CoreState {
  const { core } = stateOf(configuration, reservoir)
  if (!core) throw new Error('the reservoir was never started')
  return core
}

/** Every bit of a belief, as text. */
export function bits({ mean, covariance }: { mean: Float64Array; covariance: Float64Array }): string {
  return [mean, covariance].map(({ buffer }) => Buffer.from(buffer).toString('base64')).join('|')
}
