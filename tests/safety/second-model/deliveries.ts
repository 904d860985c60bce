/**
 * What was or may have been delivered, from the raw list: every command that went out with what became of it, every
 * run nobody asked for, and the trips these latch. Doubt is resolved towards more, later, and not settled.
 */

import type { Limits } from '../../../src/safety/limits.ts'
import type { Answers } from './answers.ts'
import type { Heartbeat, Sent, Told } from './told.ts'

/** Longer than asked by more than this is a pump out of control (the same judgement as in the house’s own tests). */
const OVERRUN_TOLERANCE_MS = 500

/** What a division of doubles may be off by, in microlitres. */
const ROUNDING_UL = 1e-6

export interface Command extends Sent {
  readonly stock: string
  readonly volumeUl: number
  readonly rateUlPerS: number
  /** the latest moment at which a node that obeys the deadline may still run it */
  readonly latestEndMs: number
  readonly totalBeforeMs: number | null
  readonly doubtBeforeMs: number
  readonly mayBeSent: boolean
  /** nobody said in time what became of it, or the daemon started anew */
  readonly isUnknown: boolean
  /** went out before the last start */
  readonly isOld: boolean
}

export interface Delivery {
  readonly stock: string
  readonly highUl: number
  readonly endMs: number
}

export interface Deliveries {
  readonly unsettled: readonly Command[]
  readonly rows: readonly Delivery[]
  readonly trips: readonly Trip[]
  /** pumps whose totaliser was ever heard, as node/pump */
  readonly counted: ReadonlySet<string>
  /** pump rates now, by stock */
  readonly rates: ReadonlyMap<string, number>
}

interface Trip {
  readonly trip: string
  readonly subject: string
}

interface Counter {
  totalMs: number | null
  doubtMs: number
  /** the clock of the last heartbeat or settling report */
  boot: string
  uptimeMs: number
  /** the newest word of the node, whatever of it is settled */
  said: { readonly boot: string; readonly totalMs: number; readonly doubtMs: number } | null
}

interface Walk {
  readonly limits: Limits
  readonly answers: Answers
  unsettled: Command[]
  readonly settledIds: Set<string>
  readonly rows: Delivery[]
  trips: Trip[]
  readonly counters: Map<string, Counter>
  readonly clocks: Map<string, { boot: string; uptimeMs: number; past: Set<string> }>
  readonly rates: Map<string, number>
}

/** Walks the whole list once. */
export function deliveriesOf(limits: Limits, told: readonly Told[], answers: Answers): Deliveries {
  const walk: Walk = {
    limits,
    answers,
    unsettled: [],
    settledIds: new Set(),
    rows: [],
    trips: [],
    counters: new Map(),
    clocks: new Map(),
    rates: new Map(limits.stocks.map((entry) => [entry.stock, entry.rateUlPerS])),
  }
  for (const event of told) hear(walk, event)
  const counted = [...walk.counters].filter(([, counter]) => counter.totalMs !== null).map(([name]) => name)
  return { ...walk, counted: new Set(counted) }
}

function hear(walk: Walk, event: Told): void {
  if (event.kind === 'shot') begin(walk, event)
  else if (event.kind === 'status') hearStatus(walk, event)
  else if (event.kind === 'heartbeat') hearBeats(walk, event)
  else if (event.kind === 'report') hearReport(walk, event)
  else if (event.kind === 'edge') hearEdge(walk, event)
  else if (event.kind === 'instruction') hearInstruction(walk, event.instruction, event.atMs)
  else if (event.kind === 'start') {
    giveUp(walk, () => true)
    walk.unsettled = walk.unsettled.map((command) => ({ ...command, isOld: true }))
  } else if (event.kind === 'tick') {
    giveUp(walk, (command) => !(event.atMs <= command.latestEndMs + walk.limits.reportGraceMs))
  }
}

function giveUp(walk: Walk, which: (command: Command) => boolean): void {
  walk.unsettled = walk.unsettled.map((command) =>
    which(command) ? { ...command, isUnknown: true, mayBeSent: true } : command,
  )
}

function begin(walk: Walk, { sent, wish, atMs }: Extract<Told, { kind: 'shot' }>): void {
  const counter = counterOf(walk, nameOf(sent.node, sent.pump))
  walk.unsettled.push({
    ...sent,
    stock: wish.stock,
    volumeUl: wish.volumeUl,
    rateUlPerS: walk.rates.get(wish.stock) ?? Number.NaN,
    latestEndMs: atMs + walk.limits.startWindowMs + sent.runMs,
    totalBeforeMs: counter.totalMs,
    doubtBeforeMs: counter.doubtMs,
    mayBeSent: false,
    isUnknown: false,
    isOld: false,
  })
}

function hearEdge(walk: Walk, { news, atMs }: Extract<Told, { kind: 'edge' }>): void {
  if (news.edge !== 'command-sent' && news.edge !== 'command-not-sent') return
  const command = walk.unsettled.find((entry) => entry.id === news.commandId)
  if (command === undefined || command.mayBeSent) return
  if (news.edge === 'command-not-sent') settle(walk, command, 0, atMs)
  else walk.unsettled = walk.unsettled.map((entry) => (entry === command ? { ...entry, mayBeSent: true } : entry))
}

/** Closes a command with the volume it may have brought. */
function settle(walk: Walk, command: Command, highUl: number, atMs: number): void {
  walk.unsettled = walk.unsettled.filter((entry) => entry !== command)
  walk.settledIds.add(command.id)
  if (highUl === 0) return
  const asAsked = highUl <= command.volumeUl && !walk.answers.endIsNews
  walk.rows.push({ stock: command.stock, highUl, endMs: asAsked ? Math.min(atMs, command.latestEndMs) : atMs })
}

function hearBeats(walk: Walk, event: Extract<Told, { kind: 'heartbeat' }>): void {
  const { heartbeat, node, atMs } = event
  if (!isNow(walk, node, heartbeat.boot)) return
  const clock = walk.clocks.get(node)
  if (clock === undefined || heartbeat.uptimeMs < clock.uptimeMs) return
  clock.uptimeMs = heartbeat.uptimeMs
  for (const beat of heartbeat.pumps) hearBeat(walk, { node, atMs, heartbeat }, beat)
}

type Beat = Heartbeat['pumps'][number]

function hearBeat(walk: Walk, heard: { node: string; atMs: number; heartbeat: Heartbeat }, beat: Beat): void {
  const { node, atMs, heartbeat } = heard
  const name = nameOf(node, beat.id)
  const counter = counterOf(walk, name)
  // One from before the report that settled the pump’s last command came late.
  if (counter.boot === heartbeat.boot && heartbeat.uptimeMs < counter.uptimeMs) return
  Object.assign(counter, { boot: heartbeat.boot, uptimeMs: heartbeat.uptimeMs })
  const command = walk.unsettled.find((entry) => entry.node === node && entry.pump === beat.id)
  const before = { totalMs: counter.totalMs, doubtMs: counter.doubtMs }
  const isFirst = before.totalMs === null
  const { said } = counter
  counter.said = { boot: heartbeat.boot, totalMs: beat.totalRunMs, doubtMs: beat.doubtMs }
  const isBelowBefore = !isFirst && (beat.totalRunMs < (before.totalMs ?? 0) || beat.doubtMs < before.doubtMs)
  if (isBelowBefore || takesBack(said, counter.said, command)) {
    trip(walk, 'totaliser-fell', name)
    if (command !== undefined) settle(walk, command, worstUl(command, said), atMs)
  } else if (!isFirst) {
    const surelyMs = beat.totalRunMs - (before.totalMs ?? 0)
    const toldMs = surelyMs + beat.doubtMs - before.doubtMs
    const ran = { surelyMs, perhapsMs: command === undefined ? toldMs : Math.max(toldMs, saidMs(command, said)) }
    if (command === undefined) ranAlone(walk, { node, pump: beat.id }, ran, atMs)
    else if (!explain(walk, command, { heartbeat, beat, atMs }, ran)) return
  }
  Object.assign(counter, { totalMs: beat.totalRunMs, doubtMs: beat.doubtMs })
}

/**
 * Whether a node takes back what it said before: on the same boot any of it, on a new one any doubt, or more of count and
 * doubt together than lies beyond the run that was asked for.
 */
function takesBack(said: Counter['said'], now: NonNullable<Counter['said']>, command: Command | undefined): boolean {
  if (said === null) return false
  if (now.doubtMs < said.doubtMs) return true
  if (now.boot === said.boot) return now.totalMs < said.totalMs
  const backMs = said.totalMs + said.doubtMs - now.totalMs - now.doubtMs
  if (command === undefined) return backMs > 0
  const beyondMs = said.totalMs + said.doubtMs - (command.totalBeforeMs ?? 0) - command.doubtBeforeMs - command.runMs
  return backMs > Math.max(0, beyondMs)
}

/** How long a command may have run by what the node said before. */
function saidMs(command: Command, said: Counter['said']): number {
  if (said === null) return 0
  const countedMs = said.totalMs - (command.totalBeforeMs ?? said.totalMs)
  return Math.max(countedMs, 0) + Math.max(said.doubtMs - command.doubtBeforeMs, 0)
}

function worstUl(command: Command, said: Counter['said']): number {
  return Math.max(command.volumeUl, mostUl(saidMs(command, said), command.rateUlPerS))
}

/** False while nobody can know yet what becomes of the command: before its last moment to start, or while it runs. */
function explain(
  walk: Walk,
  command: Command,
  at: { heartbeat: Heartbeat; beat: Beat; atMs: number },
  ran: { surelyMs: number; perhapsMs: number },
): boolean {
  const { boot, uptimeMs } = at.heartbeat
  tripIfOverran(walk, command, ran.surelyMs)
  const mayStart = walk.answers.lastMomentStarts
    ? uptimeMs <= command.startBeforeUptimeMs
    : uptimeMs < command.startBeforeUptimeMs
  const isOver = boot !== command.boot || (!mayStart && at.beat.runningId === undefined)
  if (isOver) settle(walk, command, mostUl(ran.perhapsMs, command.rateUlPerS), at.atMs)
  return isOver
}

function hearReport(walk: Walk, { report, node, pump, atMs }: Extract<Told, { kind: 'report' }>): void {
  const command = walk.unsettled.find((entry) => entry.id === report.id)
  if (command === undefined) return hearStrangeReport(walk, { report, node, pump, atMs })
  if (command.node !== node || command.pump !== pump || command.boot !== report.boot) return
  if (report.state === 'accepted' || report.state === 'running') return
  const name = nameOf(node, pump)
  const counter = counterOf(walk, name)
  const { said } = counter
  const isLate = counter.boot !== report.boot || report.uptimeMs < counter.uptimeMs
  const isBelowSaid = !isLate && said !== null && said.boot === report.boot && report.totalRunMs < said.totalMs
  if (isBelowSaid || (command.totalBeforeMs !== null && report.totalRunMs < command.totalBeforeMs)) {
    trip(walk, 'totaliser-fell', name)
    return settle(walk, command, worstUl(command, said), atMs)
  }
  const grownMs = command.totalBeforeMs === null ? 0 : report.totalRunMs - command.totalBeforeMs
  const ranMs = Math.max(report.ranMs, grownMs)
  Object.assign(counter, { totalMs: report.totalRunMs })
  if (!isLate) {
    const newest = { boot: report.boot, totalMs: report.totalRunMs, doubtMs: said?.doubtMs ?? 0 }
    Object.assign(counter, { uptimeMs: report.uptimeMs, said: newest })
  }
  tripIfOverran(walk, command, ranMs)
  settle(walk, command, mostUl(ranMs, command.rateUlPerS), atMs)
}

function hearStrangeReport(walk: Walk, event: Omit<Extract<Told, { kind: 'report' }>, 'kind'>): void {
  const { report, node, pump, atMs } = event
  if (!walk.answers.strangeReportCounts || walk.settledIds.has(report.id) || report.ranMs <= 0) return
  ranAlone(walk, { node, pump }, { surelyMs: report.ranMs, perhapsMs: report.ranMs }, atMs)
}

/** A run without a command counts in full; what surely ran trips, what a reboot left in doubt does not. */
function ranAlone(
  walk: Walk,
  where: { node: string; pump: string },
  ran: { surelyMs: number; perhapsMs: number },
  atMs: number,
): void {
  if (!(ran.perhapsMs > 0)) return
  if (ran.surelyMs > 0) trip(walk, 'pump-ran-alone', nameOf(where.node, where.pump))
  const entry = walk.limits.stocks.find((stock) => stock.node === where.node && stock.pump === where.pump)
  if (entry === undefined) return
  const highUl = mostUl(ran.perhapsMs, walk.rates.get(entry.stock) ?? Number.NaN)
  if (highUl !== 0) walk.rows.push({ stock: entry.stock, highUl, endMs: atMs })
}

function hearInstruction(
  walk: Walk,
  instruction: Extract<Told, { kind: 'instruction' }>['instruction'],
  atMs: number,
): void {
  if (instruction.instruction === 'reset') {
    const lost = walk.unsettled.find((entry) => entry.isUnknown && `unsettled:${entry.id}` === instruction.trip)
    if (lost !== undefined && atMs > lost.latestEndMs) settle(walk, lost, lost.volumeUl, atMs)
    walk.trips = walk.trips.filter((entry) => entry.trip !== instruction.trip)
  }
  if (instruction.instruction !== 'pump-rate') return
  const entry = walk.limits.stocks.find((stock) => stock.stock === instruction.stock)
  const rateUlPerS = (instruction.rateMlPerMin * 1000) / 60
  // Half or double of what the file says is a slip of the pen, not a measurement.
  if (entry === undefined || !(rateUlPerS >= entry.rateUlPerS / 2 && rateUlPerS <= entry.rateUlPerS * 2)) return
  walk.rates.set(instruction.stock, rateUlPerS)
}

function hearStatus(walk: Walk, { node, status }: Extract<Told, { kind: 'status' }>): void {
  const isStrangeWill = !status.online && walk.clocks.get(node)?.boot !== status.boot
  if (isStrangeWill && !walk.answers.strangeWillCounts) return
  isNow(walk, node, status.boot)
}

/** What a run of this long delivers at most: whole microlitres, upwards. */
function mostUl(runMs: number, rateUlPerS: number): number {
  return Math.ceil((runMs * rateUlPerS) / 1000 - ROUNDING_UL)
}

function tripIfOverran(walk: Walk, command: Command, ranMs: number): void {
  const toleranceMs = walk.answers.overrunAtOnce ? 0 : OVERRUN_TOLERANCE_MS
  if (!(ranMs <= command.runMs + toleranceMs)) trip(walk, 'pump-overran', nameOf(command.node, command.pump))
}

function trip(walk: Walk, name: string, subject: string): void {
  walk.trips.push({ trip: name, subject })
}

function counterOf(walk: Walk, name: string): Counter {
  const counter = walk.counters.get(name) ?? { totalMs: null, doubtMs: 0, boot: '', uptimeMs: 0, said: null }
  walk.counters.set(name, counter)
  return counter
}

/** False for a message of a boot that is past; a boot not heard before is the boot from now on. */
function isNow(walk: Walk, node: string, boot: string): boolean {
  const known = walk.clocks.get(node)
  if (known === undefined) walk.clocks.set(node, { boot, uptimeMs: 0, past: new Set() })
  else if (known.past.has(boot)) return false
  else if (known.boot !== boot) {
    known.past.add(known.boot)
    Object.assign(known, { boot, uptimeMs: 0 })
  }
  return true
}

function nameOf(node: string, pump: string): string {
  return `${node}/${pump}`
}
