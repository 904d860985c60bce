/** What has happened at the bench before a shot is asked for, where it takes more than one line to say. */

import type { Limits } from '../../src/safety/limits.ts'
import { withPump } from '../../src/safety/state.ts'
import { type Bench, HOUR, LIMITS, MINUTE } from './bench.ts'

export function advise(bench: Bench, planId: string, agoMs: number): void {
  bench.instruct({ instruction: 'mode', mode: 'advise' })
  bench.instruct({ instruction: 'approve', planId })
  if (agoMs > 0) bench.pass(agoMs)
}

/** Limits with one stock’s entry changed. */
export function withStock(stock: string, change: object): Limits {
  return { ...LIMITS, stocks: LIMITS.stocks.map((entry) => (entry.stock === stock ? { ...entry, ...change } : entry)) }
}

/** The same bench with a second pH probe, and what the limits say of the two. */
export function withTwin(twinsWithin: Limits['twinsWithin']): Limits {
  const { twinsWithin: _none, ...limits } = LIMITS
  const twin = { id: 'ph-2', node: 'bench', role: 'ph', min: 4.8, max: 7.2 } as const
  return { ...limits, probes: [...LIMITS.probes, twin], ...(twinsWithin === undefined ? {} : { twinsWithin }) }
}

/** The same bench with a hold switch beside the reservoir. */
export function withSwitch(): Limits {
  const holdSwitch = { id: 'switch-1', node: 'bench', role: 'hold-switch', min: 0, max: 1 } as const
  return { ...LIMITS, probes: [...LIMITS.probes, holdSwitch] }
}

/** Sanitised and ended just now. */
export function sanitised(bench: Bench): void {
  bench.instruct({ instruction: 'sanitise', phase: 'begin' })
  bench.pass(HOUR)
  bench.instruct({ instruction: 'sanitise', phase: 'end' })
  bench.pass(MINUTE)
}

export function ranAlone(bench: Bench): void {
  bench.run('pump-2', 700)
  bench.beat()
}

export function wait(bench: Bench, ms: number): void {
  bench.atMs += ms
}

/** A new start after which the node says nothing: its boot of before is forgotten too. */
export function silentNode(bench: Bench): void {
  bench.start(2)
  const node = bench.state.nodes['bench']
  if (node === undefined) throw new Error('the bench has lost its node')
  bench.state = { ...bench.state, nodes: { bench: { ...node, boot: null } } }
}

/** A shot went out, and for five minutes nobody says what became of it. */
export function unreported(bench: Bench): void {
  bench.mustWish('nitrate', 1000)
  bench.atMs += 5 * MINUTE
  bench.tick()
}

/** The daemon dies with a shot on its way; an hour after it is back the node has not been heard. */
export function restartedInMidShot(bench: Bench): void {
  const shot = bench.mustWish('nitrate', 10_000)
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  bench.die()
  bench.start(2)
  bench.atMs += HOUR
}

export function firstTerm(bench: Bench): void {
  bench.state = { ...bench.state, term: null }
  bench.start(0)
}

/** A pump fresh out of its box: its node counts from nothing. */
export function neverRan(bench: Bench): void {
  bench.state = withPump(bench.state, 'bench', 'pump-3', { totalRunMs: 0, doubtMs: 0 })
}

export function unnamed(bench: Bench): void {
  delete bench.pumps['pump-3']
  bench.status()
}

export function withoutAcidRules(): Limits {
  const { acid: _acid, ...limits } = LIMITS
  return limits
}

export function askAs(bench: Bench, commandId: string): Bench['ask'] {
  const ask = bench.ask.bind(bench)
  return (stock, volumeUl, planId) => ask(stock, volumeUl, planId, commandId)
}
