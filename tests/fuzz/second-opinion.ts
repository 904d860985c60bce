/** Every command of a stretch of inputs and effects, asked again of the second model of the gate. */

import { type Quantity, toInsideUnit, unitFits } from '../../src/contract/unit.ts'
import type { Effect } from '../../src/reservoir/effect.ts'
import type { Input } from '../../src/reservoir/input.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { against, viewAt } from '../safety/second-model/opinion.ts'
import type { Told } from '../safety/second-model/told.ts'

export interface Happened {
  readonly input: Input
  readonly effects: readonly Effect[]
}

/** What speaks against commands that went out, one sentence each; empty where the second model permits them all. */
export function secondOpinion(limits: Limits, happened: readonly Happened[]): readonly string[] {
  const told: Told[] = []
  const faults: string[] = []
  for (const { input, effects } of happened) {
    const heard = toldOf(limits, input)
    if (heard) told.push(heard)
    for (const effect of effects) {
      if (effect.kind !== 'command') continue
      const { atMs } = input
      const { id, node, pump, runMs, boot, startBeforeUptimeMs, stock, volumeUl } = effect.shot
      const wish = { stock, volumeUl, planId: '' }
      for (const why of against(viewAt(limits, told, atMs), wish)) faults.push(`${id} of ${stock} at ${atMs}: ${why}`)
      told.push({ kind: 'shot', atMs, wish, sent: { id, node, pump, runMs, boot, startBeforeUptimeMs } })
    }
  }
  return faults
}

/** An input in the second model’s words; undefined for one that is none of a gate’s business. */
function toldOf(limits: Limits, input: Input): Told | undefined {
  const { atMs } = input
  switch (input.kind) {
    case 'start':
      return { kind: 'start', atMs, controller: input.controller, term: input.term }
    case 'node-status':
      return { kind: 'status', atMs, node: input.node, status: input.status }
    case 'heartbeat':
      return { kind: 'heartbeat', atMs, node: input.node, heartbeat: input.heartbeat }
    case 'scan':
      return { kind: 'readings', atMs, node: input.node, readings: readingsOf(limits, input) }
    case 'pump-report':
      return { kind: 'report', atMs, node: input.node, pump: input.pump, report: input.report }
    case 'edge':
      return { kind: 'edge', atMs, news: input.news }
    case 'tick':
      return { kind: 'tick', atMs }
    default:
      return undefined
  }
}

/** What each role of a probe is measured in; a switch and a meter have a quantity of another name. */
const QUANTITIES: Readonly<Record<string, Quantity>> = { 'top-up': 'volume', 'hold-switch': 'switch' }

function readingsOf(limits: Limits, input: Extract<Input, { kind: 'scan' }>) {
  return input.scan.readings.flatMap(({ id, value, unit, quality }) => {
    const probe = limits.probes.find((candidate) => candidate.id === id && candidate.node === input.node)
    if (probe === undefined) return []
    const isFit = unitFits(unit, QUANTITIES[probe.role] ?? (probe.role as Quantity))
    return [
      { id, role: probe.role, value: toInsideUnit(value, unit), quality: isFit ? (quality ?? 'good') : 'bad' } as const,
    ]
  })
}
