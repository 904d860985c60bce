/**
 * What one pump was asked and what became of it, told from the messages that concern it. Each pump has its own story,
 * since no second command goes to a pump before the first is settled.
 */

import type { Limits } from '../../../src/safety/limits.ts'
import { type Command, type Heartbeat, type History, type Item, type Report, rateAt, runMsOf } from './history.ts'
import { type NodeStory, nodeStory } from './node-story.ts'

/** A command that nothing has settled yet. */
export interface Order {
  readonly at: number
  readonly command: Command
  readonly node: string
  readonly pump: string
  readonly boot: string | null
  readonly rateUlPerS: number
  readonly runMs: number
  readonly endMs: number
  readonly deadlineMs: number
  /** place of the news that settled it; Infinity while nothing did */
  settledAt: number
  sent: boolean
  unknown: boolean
  /** it stood in the book when the house started */
  inherited: boolean
}

/** What was or may have been delivered. */
export interface Delivery {
  /** place in the history of the news */
  readonly at: number
  readonly newsMs: number
  readonly id: string
  readonly stock: string
  readonly lowUl: number
  readonly highUl: number
  readonly endMs: number
  readonly order: Order | null
}

export interface TripMark {
  readonly at: number
  readonly trip: string
  readonly subject: string
}

export interface PumpStory {
  readonly deliveries: readonly Delivery[]
  /** not settled */
  readonly orders: readonly Order[]
  /** all there ever were */
  readonly ordered: readonly Order[]
  readonly trips: readonly TripMark[]
  readonly totalRunMs: number
  readonly doubtMs: number
}

export interface PumpPlace {
  readonly node: string
  readonly pump: string
  /** the stock it delivers; null for a pump that no limit names */
  readonly stock: string | null
}

const OVERRUN_MS = 500

interface Said {
  readonly boot: string
  readonly total: number
  readonly doubt: number
}

/** The teller of one pump’s story; `tell` it every item in order. */
class Teller {
  deliveries: Delivery[] = []
  orders: Order[] = []
  all: Order[] = []
  trips: TripMark[] = []
  total = NaN
  doubt = NaN
  /** what the node said last, also while a command waits to be settled by it */
  said: Said | null = null
  /** the node’s clock at the last word about this pump */
  saidBoot = ''
  saidUptimeMs = NaN

  readonly history: History
  readonly limits: Limits
  readonly place: PumpPlace
  readonly story: NodeStory

  constructor(history: History, limits: Limits, place: PumpPlace, story: NodeStory) {
    this.history = history
    this.limits = limits
    this.place = place
    this.story = story
  }

  tell(item: Item, at: number): void {
    if (item.what === 'command' && item.wish.stock === this.place.stock) this.ordered(item, at)
    else if (item.what === 'heartbeat' && this.story.heard.has(item)) this.counted(item, at)
    else if (item.what === 'report') this.reported(item, at)
    else if (item.what === 'tick') this.waited(item.atMs)
    else if (item.what === 'start') this.started()
    else if (item.what === 'sent') this.handed(item.commandId)
    else if (item.what === 'not-sent') this.kept(item.commandId, at)
    else if (item.what === 'reset') this.closed(item, at)
  }

  ordered(command: Command, at: number): void {
    const { node, pump } = this.place
    const { boot, heartbeat } = nodeStory(this.history, node, at)
    const rateUlPerS = rateAt(this.history, this.limits, command.wish.stock, at)
    const runMs = runMsOf(command.wish.volumeUl, rateUlPerS)
    const { startWindowMs } = this.limits
    const uptimeMs = heartbeat === null ? NaN : heartbeat.uptimeMs + command.atMs - heartbeat.atMs
    const endMs = command.atMs + startWindowMs + runMs
    const state = { settledAt: Infinity, sent: false, unknown: false, inherited: false }
    const order = {
      at,
      command,
      node,
      pump,
      boot,
      rateUlPerS,
      runMs,
      endMs,
      deadlineMs: uptimeMs + startWindowMs,
      ...state,
    }
    this.orders.push(order)
    this.all.push(order)
  }

  counted(heartbeat: Heartbeat, at: number): void {
    const count = heartbeat.pumps.find((pump) => pump.id === this.place.pump)
    if (count === undefined || this.isOlder(heartbeat)) return
    const order = this.orders[0]
    const now = { boot: heartbeat.boot, total: count.totalRunMs, doubt: count.doubtMs }
    const growth = now.total - this.total
    const doubtGrowth = now.doubt - this.doubt
    const isOver =
      heartbeat.boot !== order?.boot || (heartbeat.uptimeMs >= order.deadlineMs && count.runningId === null)
    if (this.isFall(now, order)) this.fell(at)
    else if (order !== undefined) {
      if (growth > order.runMs + OVERRUN_MS) this.trip('pump-overran', at)
      if (isOver) this.settle(order, at, growth, Math.max(growth + Math.max(0, doubtGrowth), this.heardMs()))
    } else if (growth > 0 || doubtGrowth > 0) {
      if (growth > 0) this.trip('pump-ran-alone', at)
      this.ranUnasked(at, growth, growth + doubtGrowth)
    }
    this.said = now
    ;[this.saidBoot, this.saidUptimeMs] = [heartbeat.boot, heartbeat.uptimeMs]
    if (this.orders.length === 0) [this.total, this.doubt] = [now.total, now.doubt]
  }

  /** older than the last word of the same boot about this pump */
  isOlder(heartbeat: Heartbeat): boolean {
    return heartbeat.boot === this.saidBoot && heartbeat.uptimeMs < this.saidUptimeMs
  }

  /** Counts only grow: below what was before the command, or below what the node said last, is a fall. */
  isFall(now: Said, order: Order | undefined): boolean {
    if (now.total < this.total || now.doubt < this.doubt) return true
    const { said } = this
    if (said === null) return false
    if (said.boot === now.boot) return now.total < said.total || now.doubt < said.doubt
    const before = order === undefined ? Infinity : this.total + this.doubt + order.runMs
    return now.doubt < said.doubt || now.total + now.doubt < Math.min(said.total + said.doubt, before)
  }

  /** what was heard of the run so far */
  heardMs(): number {
    const { said } = this
    return said === null ? 0 : Math.max(0, said.total - this.total) + Math.max(0, said.doubt - this.doubt)
  }

  reported(report: Report, at: number): void {
    const { node, pump } = this.place
    const order = this.orders.find((one) => one.command.id === report.commandId)
    if (order === undefined || report.node !== node || report.pump !== pump || report.boot !== order.boot) return
    if (report.state === 'accepted' || report.state === 'running') return
    const isLate = this.saidBoot !== report.boot || report.uptimeMs < this.saidUptimeMs
    const growth = report.totalRunMs - this.total
    const isBelow = !isLate && this.said?.boot === report.boot && report.totalRunMs < this.said.total
    if (growth < 0 || isBelow) return this.fell(at)
    const [least, most] = [Math.min(report.ranMs, growth), Math.max(report.ranMs, growth)]
    if (most > order.runMs + OVERRUN_MS) this.trip('pump-overran', at)
    this.settle(order, at, least, most)
    this.total = report.totalRunMs
    if (isLate) return
    this.said = { boot: report.boot, total: report.totalRunMs, doubt: this.said?.doubt ?? 0 }
    ;[this.saidBoot, this.saidUptimeMs] = [report.boot, report.uptimeMs]
  }

  fell(at: number): void {
    this.trip('totaliser-fell', at)
    const order = this.orders[0]
    if (order === undefined) return
    const heardUl = highUlOf(this.heardMs(), order.rateUlPerS)
    this.settleUl(order, at, 0, Math.max(order.command.wish.volumeUl, heardUl))
  }

  waited(nowMs: number): void {
    const { reportGraceMs } = this.limits
    for (const order of this.orders) if (!(nowMs <= order.endMs + reportGraceMs)) order.unknown = true
  }

  started(): void {
    for (const order of this.orders) [order.unknown, order.inherited] = [true, true]
  }

  handed(id: string): void {
    for (const order of this.orders) if (order.command.id === id) order.sent = true
  }

  kept(id: string, at: number): void {
    const order = this.orders.find((one) => one.command.id === id)
    if (order !== undefined && !order.sent && !order.unknown) this.settleUl(order, at, 0, 0)
  }

  closed(reset: Extract<Item, { what: 'reset' }>, at: number): void {
    const order = this.orders.find((one) => `unsettled:${one.command.id}` === reset.trip)
    if (order === undefined || !order.unknown || reset.by.trim() === '' || reset.reason.trim() === '') return
    if (reset.atMs > order.endMs) this.settleUl(order, at, 0, order.command.wish.volumeUl)
  }

  settle(order: Order, at: number, lowMs: number, highMs: number): void {
    this.settleUl(order, at, lowUlOf(lowMs, order.rateUlPerS), highUlOf(highMs, order.rateUlPerS))
  }

  settleUl(order: Order, at: number, lowUl: number, highUl: number): void {
    this.orders = this.orders.filter((one) => one !== order)
    order.settledAt = at
    if (highUl <= 0) return
    const newsMs = this.history[at]!.atMs
    const { id, wish } = order.command
    const endMs = highUl <= wish.volumeUl ? Math.min(newsMs, order.endMs) : newsMs
    this.deliveries.push({ at, newsMs, id, stock: wish.stock, lowUl, highUl, endMs, order })
  }

  ranUnasked(at: number, lowMs: number, highMs: number): void {
    const { stock, pump } = this.place
    if (stock === null) return
    const rate = rateAt(this.history, this.limits, stock, at)
    const [lowUl, highUl] = [lowUlOf(lowMs, rate), highUlOf(highMs, rate)]
    // a volume that is no number, for want of a rate, is one that nobody knows
    if (highUl <= 0) return
    const newsMs = this.history[at]!.atMs
    this.deliveries.push({
      at,
      newsMs,
      id: `no-command:${pump}:${at}`,
      stock,
      lowUl,
      highUl,
      endMs: newsMs,
      order: null,
    })
  }

  trip(trip: string, at: number): void {
    this.trips.push({ at, trip, subject: `${this.place.node}/${this.place.pump}` })
  }
}

function lowUlOf(ms: number, rateUlPerS: number): number {
  return Math.floor((ms * rateUlPerS) / 1000 + 1e-5)
}

function highUlOf(ms: number, rateUlPerS: number): number {
  return Math.max(0, Math.ceil((ms * rateUlPerS) / 1000 - 1e-5))
}

export function pumpStory(history: History, limits: Limits, place: PumpPlace, story: NodeStory): PumpStory {
  const teller = new Teller(history, limits, place, story)
  for (let at = 0; at < history.length; at += 1) teller.tell(history[at]!, at)
  const { deliveries, orders, all: ordered, trips, total, doubt } = teller
  return { deliveries, orders, ordered, trips, totalRunMs: total, doubtMs: doubt }
}
