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
  readonly boot: string
  readonly runMs: number
  readonly endMs: number
  readonly deadlineMs: number
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
  readonly settledIds: ReadonlySet<string>
  readonly orders: readonly Order[]
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

/** The teller of one pump’s story; `tell` it every item in order. */
class Teller {
  deliveries: Delivery[] = []
  settledIds = new Set<string>()
  orders: Order[] = []
  trips: TripMark[] = []
  total = NaN
  doubt = NaN
  /** the node’s clock at that count */
  countBoot = ''
  countUptimeMs = NaN

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
    const runMs = runMsOf(command.wish.volumeUl, rateAt(this.history, this.limits, command.wish.stock, at))
    const { startWindowMs } = this.limits
    const uptimeMs = heartbeat === null ? NaN : heartbeat.uptimeMs + command.atMs - heartbeat.atMs
    const endMs = command.atMs + startWindowMs + runMs
    const state = { sent: false, unknown: false, inherited: false }
    this.orders.push({ at, command, node, pump, boot, runMs, endMs, deadlineMs: uptimeMs + startWindowMs, ...state })
  }

  counted(heartbeat: Heartbeat, at: number): void {
    const count = heartbeat.pumps.find((pump) => pump.id === this.place.pump)
    if (count === undefined || this.isOlder(heartbeat)) return
    const order = this.orders[0]
    const growth = count.totalRunMs - this.total
    const doubtGrowth = count.doubtMs - this.doubt
    if (growth < 0 || doubtGrowth < 0) this.fell(at)
    else if (order !== undefined) {
      const isOver = heartbeat.uptimeMs >= order.deadlineMs && count.runningId === null
      if (heartbeat.boot === order.boot && !isOver) return
      if (growth + doubtGrowth > order.runMs + OVERRUN_MS) this.trip('overrun', at)
      this.settle(order, at, growth, growth + doubtGrowth)
    } else if (growth > 0 || doubtGrowth > 0) {
      if (growth > 0) this.trip('unasked', at)
      this.ranUnasked(at, growth, growth + doubtGrowth)
    }
    this.take(heartbeat, count.totalRunMs, count.doubtMs)
  }

  /** older than what a report of the same boot has said of this pump */
  isOlder(heartbeat: Heartbeat): boolean {
    return heartbeat.boot === this.countBoot && heartbeat.uptimeMs < this.countUptimeMs
  }

  take(news: Heartbeat | Report, totalRunMs: number, doubtMs: number): void {
    this.total = totalRunMs
    this.doubt = doubtMs
    this.countBoot = news.boot
    this.countUptimeMs = news.uptimeMs
  }

  reported(report: Report, at: number): void {
    const { node, pump } = this.place
    const order = this.orders.find((one) => one.command.id === report.commandId)
    if (order === undefined || report.node !== node || report.pump !== pump || report.boot !== order.boot) return
    if (report.state === 'accepted' || report.state === 'running') return
    const growth = report.totalRunMs - this.total
    if (growth < 0) this.fell(at)
    else {
      const [least, most] = [Math.min(report.ranMs, growth), Math.max(report.ranMs, growth)]
      if (most > order.runMs + OVERRUN_MS) this.trip('overrun', at)
      this.settle(order, at, least, most)
    }
    this.take(report, report.totalRunMs, this.doubt)
  }

  fell(at: number): void {
    this.trip('fell', at)
    const order = this.orders[0]
    if (order !== undefined) this.settleUl(order, at, 0, order.command.wish.volumeUl)
  }

  waited(nowMs: number): void {
    for (const order of this.orders) if (nowMs > order.endMs + this.limits.reportGraceMs) order.unknown = true
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
    const rate = rateAt(this.history, this.limits, order.command.wish.stock, at)
    this.settleUl(order, at, lowUlOf(lowMs, rate), highUlOf(highMs, rate))
  }

  settleUl(order: Order, at: number, lowUl: number, highUl: number): void {
    this.orders = this.orders.filter((one) => one !== order)
    this.settledIds.add(order.command.id)
    if (!(highUl > 0)) return
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
    if (!(highUl > 0)) return
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
  const { deliveries, settledIds, orders, trips, total, doubt } = teller
  return { deliveries, settledIds, orders, trips, totalRunMs: total, doubtMs: doubt }
}
