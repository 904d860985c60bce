/**
 * What was or may have been delivered, from the raw list: every command that went out with what became of it, every
 * run nobody asked for, and the trips these latch. Doubt is resolved towards more, later, and not settled.
 */

import type { Limits, StockLimits } from '../../../src/safety/limits.ts'
import type { Told } from './told.ts'

export interface Command {
  readonly id: string
  readonly stock: string
  readonly node: string
  readonly pump: string
  readonly volumeUl: number
  readonly runMs: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
  readonly rateUlPerS: number
  readonly judgedAtMs: number
  readonly totalBeforeMs: number | null
}

export interface Delivery {
  readonly stock: string
  readonly highUl: number
  readonly endMs: number
}

export interface Deliveries {
  readonly unsettled: readonly Command[]
  readonly rows: readonly Delivery[]
  readonly trips: readonly { readonly trip: string; readonly subject: string }[]
}

interface Counter {
  totalMs: number | null
  doubtMs: number
  boot: string | null
  uptimeMs: number
}

interface Walk {
  readonly limits: Limits
  unsettled: Command[]
  readonly settledIds: Set<string>
  readonly rows: Delivery[]
  trips: { trip: string; subject: string }[]
  readonly counters: Map<string, Counter>
  readonly boots: Map<string, { now: string; past: Set<string> }>
  readonly rates: Map<string, number>
}

/** Walks the whole list once. */
export function deliveriesOf(limits: Limits, told: readonly Told[]): Deliveries {
  const walk: Walk = {
    limits,
    unsettled: [],
    settledIds: new Set(),
    rows: [],
    trips: [],
    counters: new Map(),
    boots: new Map(),
    rates: new Map(limits.stocks.map((entry) => [entry.stock, entry.rateUlPerS])),
  }
  for (const event of told) {
    if (event.kind === 'shot') begin(walk, event)
    if (event.kind === 'status') noteBoot(walk, event.node, event.status.boot)
    if (event.kind === 'heartbeat') hearBeat(walk, event)
    if (event.kind === 'report') hearReport(walk, event)
    if (event.kind === 'edge' && event.news.edge === 'command-not-sent') {
      const { commandId } = event.news
      const command = walk.unsettled.find((entry) => entry.id === commandId)
      if (command !== undefined) settle(walk, command, 0, event.atMs)
    }
    if (event.kind === 'instruction') hearInstruction(walk, event.instruction)
  }
  return walk
}

/** What a run of this long delivers at most: whole microlitres, upwards. */
export function mostUl(runMs: number, rateUlPerS: number): number {
  return Math.ceil((runMs * rateUlPerS) / 1000)
}

function begin(walk: Walk, event: Extract<Told, { kind: 'shot' }>): void {
  walk.unsettled.push({
    ...event.sent,
    stock: event.wish.stock,
    volumeUl: event.wish.volumeUl,
    rateUlPerS: walk.rates.get(event.wish.stock) ?? Number.NaN,
    judgedAtMs: event.atMs,
    totalBeforeMs: walk.counters.get(nameOf(event.sent.node, event.sent.pump))?.totalMs ?? null,
  })
}

function settle(walk: Walk, command: Command, ranMs: number, atMs: number): void {
  walk.unsettled = walk.unsettled.filter((entry) => entry !== command)
  walk.settledIds.add(command.id)
  const highUl = mostUl(ranMs, command.rateUlPerS)
  if (highUl !== 0) walk.rows.push({ stock: command.stock, highUl, endMs: atMs })
  if (ranMs > command.runMs) trip(walk, 'pump-overran', nameOf(command.node, command.pump))
}

function hearBeat(walk: Walk, event: Extract<Told, { kind: 'heartbeat' }>): void {
  const { boot, uptimeMs, pumps } = event.heartbeat
  if (!noteBoot(walk, event.node, boot)) return
  for (const beat of pumps) {
    const counter = counterOf(walk, event.node, beat.id)
    if (counter.boot === boot && uptimeMs <= counter.uptimeMs) continue
    const command = walk.unsettled.find((entry) => entry.node === event.node && entry.pump === beat.id)
    const before = { totalMs: counter.totalMs, doubtMs: counter.doubtMs }
    const grownMs = growth(walk, nameOf(event.node, beat.id), counter, beat)
    counter.boot = boot
    counter.uptimeMs = uptimeMs
    if (command === undefined) {
      if (grownMs > 0) ranAlone(walk, event.node, beat.id, { ranMs: grownMs, atMs: event.atMs })
      continue
    }
    if (grownMs > command.runMs) trip(walk, 'pump-overran', nameOf(event.node, beat.id))
    // Before its last moment to start, or while it runs, nobody knows what becomes of a command.
    const isOver = boot !== command.boot || uptimeMs > command.startBeforeUptimeMs
    if (!isOver || beat.runningId !== undefined || command.totalBeforeMs === null) {
      Object.assign(counter, before)
      continue
    }
    settle(walk, command, grownMs, event.atMs)
  }
}

/** How long the pump may have run since it was last counted; what it cannot vouch for counts as run. */
function growth(
  walk: Walk,
  subject: string,
  counter: Counter,
  beat: { readonly totalRunMs: number; readonly doubtMs: number },
): number {
  const { totalMs, doubtMs } = counter
  counter.totalMs = beat.totalRunMs
  counter.doubtMs = beat.doubtMs
  if (totalMs === null) return 0
  if (beat.totalRunMs < totalMs) {
    trip(walk, 'totaliser-fell', subject)
    return 0
  }
  return beat.totalRunMs - totalMs + Math.max(0, beat.doubtMs - doubtMs)
}

function hearReport(walk: Walk, event: Extract<Told, { kind: 'report' }>): void {
  const { report, node, pump } = event
  const isNow = noteBoot(walk, node, report.boot)
  const isLast = report.state === 'done' || report.state === 'stopped' || report.state === 'refused'
  const counter = counterOf(walk, node, pump)
  const command = walk.unsettled.find((entry) => entry.id === report.id)
  if (command !== undefined && command.node === node && command.pump === pump && command.boot === report.boot) {
    if (!isLast) return
    const countedMs = counter.totalMs === null ? 0 : report.totalRunMs - counter.totalMs
    counter.totalMs = Math.max(counter.totalMs ?? 0, report.totalRunMs)
    settle(walk, command, Math.max(report.ranMs, countedMs), event.atMs)
    return
  }
  if (command !== undefined || walk.settledIds.has(report.id) || !isNow) return
  const grownMs = counter.totalMs === null ? 0 : report.totalRunMs - counter.totalMs
  const ranMs = Math.max(report.ranMs, grownMs)
  counter.totalMs = Math.max(counter.totalMs ?? 0, report.totalRunMs)
  if (ranMs > 0 || !isLast) ranAlone(walk, node, pump, { ranMs, atMs: event.atMs })
}

function ranAlone(walk: Walk, node: string, pump: string, run: { ranMs: number; atMs: number }): void {
  const entry = stockAt(walk.limits, node, pump)
  trip(walk, 'pump-ran-alone', nameOf(node, pump))
  if (entry === undefined) return
  const rateUlPerS = walk.rates.get(entry.stock) ?? Number.NaN
  walk.rows.push({ stock: entry.stock, highUl: mostUl(run.ranMs, rateUlPerS), endMs: run.atMs })
}

function hearInstruction(walk: Walk, instruction: Extract<Told, { kind: 'instruction' }>['instruction']): void {
  if (instruction.instruction === 'reset') {
    walk.trips = walk.trips.filter((entry) => entry.trip !== instruction.trip)
  }
  if (instruction.instruction === 'pump-rate' && instruction.rateMlPerMin > 0) {
    walk.rates.set(instruction.stock, (instruction.rateMlPerMin * 1000) / 60)
  }
}

function trip(walk: Walk, name: string, subject: string): void {
  walk.trips.push({ trip: name, subject })
}

function counterOf(walk: Walk, node: string, pump: string): Counter {
  const name = nameOf(node, pump)
  const counter = walk.counters.get(name) ?? { totalMs: null, doubtMs: 0, boot: null, uptimeMs: -1 }
  walk.counters.set(name, counter)
  return counter
}

/** False for a message of a boot that is past. */
function noteBoot(walk: Walk, node: string, boot: string): boolean {
  const known = walk.boots.get(node)
  if (known === undefined) {
    walk.boots.set(node, { now: boot, past: new Set() })
    return true
  }
  if (known.past.has(boot)) return false
  if (known.now !== boot) {
    known.past.add(known.now)
    known.now = boot
  }
  return true
}

function stockAt(limits: Limits, node: string, pump: string): StockLimits | undefined {
  return limits.stocks.find((entry) => entry.node === node && entry.pump === pump)
}

function nameOf(node: string, pump: string): string {
  return `${node}/${pump}`
}
