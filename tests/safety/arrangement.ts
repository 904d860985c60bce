/** What has happened at the bench before a shot is asked for, where it takes more than one line to say. */

import type { Limits } from '../../src/safety/limits.ts'
import { withPump } from '../../src/safety/state.ts'
import { type Bench, LIMITS } from './bench.ts'

export function advise(bench: Bench, planId: string, agoMs: number): void {
  bench.instruct({ instruction: 'mode', mode: 'advise' })
  bench.instruct({ instruction: 'approve', planId })
  if (agoMs > 0) bench.pass(agoMs)
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
