/** What can happen at a bench in one move: time, shots and all that can become of them, people, faults. */

import type { Limits, ProbeLimits } from '../../../src/safety/limits.ts'
import { edgesOf } from './edges.ts'
import type { View } from './opinion.ts'
import { type Plant, USUAL } from './plant.ts'
import { lastStartIndex, type Told } from './told.ts'
import { volumesFor } from './wishes.ts'

const MINUTE = 60_000

/** Begins a site: started, heard, set to act, its flow steady. */
export function begin(plant: Plant): void {
  const { gate, chance } = plant
  gate.tell({ kind: 'start', atMs: plant.atMs, controller: 'desk', term: 1 + chance.below(3) })
  well(plant)
}

/** Everything is put right again, as a person would, and left alone until the flow has been steady. */
export function well(plant: Plant): void {
  const { gate, chance } = plant
  const { atMs } = plant
  plant.fixed.clear()
  if (lastStartIndex(gate.told) < 0) start(plant, highestTerm(plant) + 1)
  gate.tell({ kind: 'edge', atMs, news: { edge: 'link', up: true } })
  gate.tell({ kind: 'edge', atMs, news: { edge: 'disk', writable: true } })
  gate.tell({ kind: 'edge', atMs, news: { edge: 'clock', sane: true } })
  for (const node of plant.nodes) {
    if (chance.often(0.9)) node.term = Math.min(node.term, highestTerm(plant))
    plant.status(node)
  }
  plant.scanAll()
  plant.beatAll()
  instruct(plant, { instruction: 'release' })
  for (const trip of ['pump-ran-alone', 'pump-overran', 'totaliser-fell'])
    instruct(plant, { instruction: 'reset', trip })
  const last = gate.told.findLast((event) => event.kind === 'shot')
  if (last !== undefined) instruct(plant, { instruction: 'reset', trip: `unsettled:${last.sent.id}` })
  if (chance.often(0.85)) instruct(plant, { instruction: 'mode', mode: 'automatic' })
  else {
    instruct(plant, { instruction: 'mode', mode: 'advise' })
    instruct(plant, { instruction: 'approve', planId: 'plan-1' })
  }
  const { flowSteadyMs, acid } = gate.limits
  const waits = [flowSteadyMs, acid?.afterFlowMs ?? 0, 0].filter((ms) => ms >= 0 && ms < 60 * MINUTE)
  plant.passTo(plant.atMs + chance.pick(waits) + chance.pick([0, 1, 1000]))
}

type Move = (plant: Plant, view: View) => void

/** What happens where all is well, by weight. */
const CALM: readonly (readonly [weight: number, move: Move])[] = [
  [14, (plant) => plant.passTo(plant.atMs + 1 + plant.chance.below(3 * MINUTE))],
  [4, (plant) => plant.passTo(plant.atMs + plant.chance.below(60 * MINUTE))],
  [22, toAnEdge],
  [30, shoot],
  [9, well],
  [8, readingOnABound],
  [2, pause],
]

/** What happens beside where it is not. */
const FAULTS: typeof CALM = [
  [8, oddReading],
  [2, (plant) => plant.scan(plant.chance.pick(['one', 'two']), () => plant.chance.often(0.5))],
  [2, (plant) => plant.quietlyTo(plant.atMs + plant.chance.below(10 * MINUTE))],
  [3, standStill],
  [1, halfHeartbeat],
  [3, edge],
  [4, person],
  [2, wrongStatus],
  [2, lateMessage],
  [2, (plant) => reboot(plant)],
  [2, restart],
  [2, strayRun],
  [1, (plant) => plant.gate.tell({ kind: 'tick', atMs: plant.atMs })],
]

/** Makes one move, chosen by the plant’s chance. */
export function moveOn(plant: Plant, view: View, isCalm: boolean): void {
  const moves = isCalm ? CALM : [...CALM, ...FAULTS]
  let left = plant.chance.below(moves.reduce((sum, [weight]) => sum + weight, 0))
  for (const [weight, move] of moves) {
    left -= weight
    if (left < 0) return move(plant, view)
  }
}

/** Time passes to a moment at which some wait or age is just about over, with a scan and a heartbeat then. */
function toAnEdge(plant: Plant, view: View): void {
  const edges = edgesOf(view).filter((atMs) => atMs > plant.atMs && atMs - plant.atMs < 25 * 60 * MINUTE)
  if (edges.length === 0) return
  const toMs = plant.chance.pick(edges) + plant.chance.pick([-1, 0, 1])
  if (plant.chance.often(0.8)) plant.passTo(toMs)
  else plant.quietlyTo(toMs)
}

function shoot(plant: Plant, view: View): void {
  const { chance, gate } = plant
  const { stock } = chance.pick(gate.limits.stocks)
  const mostUl = Math.max(volumesFor(view, stock)[0] ?? 1, 1)
  const volumeUl = chance.often(0.4) ? 1 + chance.below(mostUl) : mostUl
  const sent = gate.shoot({ stock, volumeUl, planId: 'plan-1' }, plant.atMs)
  if (sent === null) return
  const tell = (edge: 'command-sent' | 'command-not-sent') =>
    gate.tell({ kind: 'edge', atMs: plant.atMs, news: { edge, commandId: sent.id } })
  if (chance.often(0.9)) tell('command-sent')
  if (chance.often(0.08)) return tell('command-not-sent')
  if (chance.often(0.07)) return
  const runMs = chance.often(0.85)
    ? sent.runMs
    : chance.pick([0, chance.below(sent.runMs + 1), sent.runMs + 500, sent.runMs + 501, sent.runMs + 3000])
  const windowMs = gate.limits.startWindowMs || 1
  const waitMs = chance.pick([0, 100, chance.below(windowMs), windowMs - 1, windowMs])
  plant.obey(sent, { waitMs, runMs, tells: chance.often(0.85) })
  if (chance.often(0.06)) plant.after(waitMs + chance.below(runMs + 1), () => rebootAndTell(plant, sent.node))
  if (chance.often(0.04)) plant.after(chance.below(windowMs), () => restart(plant))
  if (chance.often(0.5)) plant.quietlyTo(plant.atMs + waitMs + runMs + chance.pick([0, 1, 500]))
  else if (chance.often(0.2)) {
    // A heartbeat at the very last moment to start.
    plant.quietlyTo(plant.atMs + windowMs)
    plant.beatAll()
  }
}

function oddReading(plant: Plant): void {
  const { chance } = plant
  const { limits } = plant.gate
  if (limits.probes.length === 0) return
  const probe = chance.pick(limits.probes)
  const bound = chance.pick(boundsOf(probe, limits))
  const value = chance.often(0.1)
    ? chance.pick([Number.NaN, Number.POSITIVE_INFINITY, -1e308, 15])
    : chance.pick([bound, bound, bound + 1e-9, bound - 1e-9, bound * 1.01, bound * 0.97])
  const quality = chance.often(0.85) ? 'good' : chance.pick(['uncertain', 'bad'] as const)
  plant.fixed.set(probe.id, { value, quality })
  plant.scan(probe.node, (other) => other.id === probe.id || chance.often(0.5))
  if (chance.often(0.5)) plant.fixed.delete(probe.id)
}

function boundsOf(probe: ProbeLimits, limits: Limits): readonly number[] {
  const bounds = [probe.min, probe.max]
  if (probe.role === 'level') bounds.push(limits.levelMinL, limits.levelMaxL, limits.acid?.reservoirMinL ?? 200)
  if (probe.role === 'flow') bounds.push(limits.flowMinLPerMin)
  if (probe.role === 'ph') bounds.push(limits.acid?.phFloor ?? 5)
  return bounds
}

/** One probe reads exactly what it just may, or the least beside it, and the usual again at the next scan. */
function readingOnABound(plant: Plant): void {
  const { chance } = plant
  const { limits } = plant.gate
  if (limits.probes.length === 0) return
  const probe = chance.pick(limits.probes)
  const value = chance.pick(boundsOf(probe, limits)) + chance.pick([0, 0, 0, 1e-9, -1e-9])
  plant.fixed.set(probe.id, { value, quality: 'good' })
  plant.scan(probe.node, (other) => other.id === probe.id)
  plant.fixed.delete(probe.id)
}

/** A probe shows the usual, but the very same, until it is just about stuck; at times with a break in between. */
function standStill(plant: Plant): void {
  const { chance } = plant
  const { limits } = plant.gate
  if (limits.probes.length === 0) return
  const probe = chance.pick(limits.probes)
  const stuckMs = probe.stuckMs ?? limits.stuckMs
  if (!(stuckMs >= 1 && stuckMs < 12 * limits.scanAgeMaxMs)) return
  plant.fixed.set(probe.id, { value: USUAL[probe.role] ?? 0, quality: 'good' })
  plant.scan(probe.node, () => true)
  const endMs = plant.atMs + stuckMs + chance.pick([-1, 0, 1])
  if (chance.often(0.6)) {
    plant.passTo(plant.atMs + chance.below(Math.ceil(stuckMs)))
    if (chance.often(0.5)) restart(plant)
    else {
      plant.gate.tell({
        kind: 'readings',
        atMs: plant.atMs,
        node: probe.node,
        readings: [{ id: probe.id, role: probe.role, value: Number.NaN, quality: 'good' }],
      })
    }
  }
  plant.passTo(endMs)
  if (chance.often(0.8)) plant.fixed.delete(probe.id)
}

/** A person holds the dosing and lets it go on; in the advise mode some plan was approved before. */
function pause(plant: Plant): void {
  if (plant.chance.often(0.3)) instruct(plant, { instruction: 'approve', planId: 'plan-1' })
  instruct(plant, { instruction: 'hold' })
  plant.passTo(plant.atMs + plant.chance.below(2 * MINUTE))
  instruct(plant, { instruction: 'release' })
}

/** A node names only some of its pumps, after a reboot or without one. */
function halfHeartbeat(plant: Plant): void {
  const { chance } = plant
  const node = chance.pick(plant.nodes)
  if (chance.often(0.6)) {
    plant.reboot(node)
    plant.status(node)
  }
  const { heartbeat, ...heard } = plant.heartbeat(node)
  const pumps = heartbeat.pumps.filter(() => chance.often(0.5))
  plant.gate.tell({ ...heard, heartbeat: { ...heartbeat, pumps } })
}

function edge(plant: Plant): void {
  const { chance, gate, atMs } = plant
  const well = chance.often(0.4)
  const news = chance.pick([
    { edge: 'link', up: well } as const,
    { edge: 'disk', writable: well } as const,
    { edge: 'clock', sane: well } as const,
  ])
  gate.tell({ kind: 'edge', atMs, news })
}

function person(plant: Plant): void {
  const { chance } = plant
  const trip = chance.pick(['pump-ran-alone', 'pump-overran', 'totaliser-fell'])
  const { stock, rateUlPerS } = chance.pick(plant.gate.limits.stocks)
  const rateMlPerMin = rateUlPerS * 0.06 * chance.pick([0.9, 1.13, 0.5, 2, 0.4, 2.5, Number.NaN])
  instruct(
    plant,
    chance.pick([
      { instruction: 'mode', mode: chance.pick(['automatic', 'advise', 'observe'] as const) },
      { instruction: 'approve', planId: chance.pick(['plan-1', 'plan-2']) },
      { instruction: 'approve', planId: 'plan-1' },
      { instruction: 'hold' },
      { instruction: 'release' },
      { instruction: 'reset', trip },
      { instruction: 'pump-rate', stock, rateMlPerMin },
      { instruction: 'calibrate' },
    ] as const),
  )
}

function instruct(plant: Plant, instruction: Extract<Told, { kind: 'instruction' }>['instruction']): void {
  plant.gate.tell({ kind: 'instruction', atMs: plant.atMs, by: 'Ada', reason: 'a try', instruction })
}

function wrongStatus(plant: Plant): void {
  const { chance } = plant
  const node = chance.pick(plant.nodes)
  const change = chance.pick([
    { online: false },
    { contract: 2 },
    { named: false },
    { online: false, boot: `${node.name}-${node.boot - 1}` },
    { online: false, boot: 'strange' },
    { boot: `${node.name}-${node.boot - 1}` },
  ])
  plant.status(node, change)
  if (chance.often(0.5)) node.term = chance.pick([0, 1, 2, 3, 9])
}

/** Something heard before is heard once more, as a broker may do. */
function lateMessage(plant: Plant): void {
  const { told } = plant.gate
  const late = plant.chance.pick(told.slice(-40))
  const isMessage = late.kind === 'heartbeat' || late.kind === 'status' || late.kind === 'report'
  if (isMessage) plant.gate.tell({ ...late, atMs: plant.atMs })
}

function reboot(plant: Plant): void {
  const node = plant.chance.pick(plant.nodes)
  plant.reboot(node)
  if (plant.chance.often(0.8)) plant.status(node)
  if (plant.chance.often(0.8)) plant.gate.tell(plant.heartbeat(node))
}

function rebootAndTell(plant: Plant, name: string): void {
  const node = plant.nodeOf(name)
  plant.reboot(node)
  plant.status(node)
  plant.gate.tell(plant.heartbeat(node))
}

/** The daemon starts again, mostly under a higher term; nodes then take its term over. */
function restart(plant: Plant): void {
  const { chance } = plant
  const highest = highestTerm(plant)
  const term = chance.often(0.85) ? highest + 1 + chance.below(2) : chance.pick([highest, highest - 1, -1])
  start(plant, term)
  if (chance.often(0.3)) for (const node of plant.nodes) node.term = term
  if (chance.often(0.9)) for (const node of plant.nodes) plant.status(node)
  plant.scanAll()
  plant.beatAll()
}

function start(plant: Plant, term: number): void {
  plant.gate.tell({ kind: 'start', atMs: plant.atMs, controller: 'desk', term })
}

function highestTerm(plant: Plant): number {
  const terms = plant.gate.told.flatMap((event) => (event.kind === 'start' ? [event.term] : []))
  return Math.max(...terms, 0)
}

/** A pump runs without a command, a count becomes smaller, or a report names a command nobody gave. */
function strayRun(plant: Plant): void {
  const { chance } = plant
  const node = chance.pick(plant.nodes)
  const pumps = [...node.pumps]
  if (pumps.length === 0) return
  const [id, pump] = chance.pick(pumps)
  const ranMs = chance.pick([1, 400, 5000])
  const kind = chance.pick(['total', 'doubt', 'fall', 'report'] as const)
  if (kind === 'total') pump.totalMs += ranMs
  if (kind === 'doubt') pump.doubtMs += ranMs
  if (kind === 'fall') pump.totalMs = Math.max(0, pump.totalMs - ranMs)
  if (kind === 'report') {
    const sent: Parameters<Plant['report']>[0] = {
      id: 'by-hand',
      node: node.name,
      pump: id,
      runMs: ranMs,
      boot: plant.bootOf(node),
      startBeforeUptimeMs: 0,
    }
    pump.totalMs += ranMs
    return plant.report(sent, { state: 'done', ranMs })
  }
  plant.gate.tell(plant.heartbeat(node))
}
