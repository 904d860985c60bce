/**
 * The second model’s opinion of a wish: from the documented rules, by a way of its own. It names every rule that
 * speaks against a shot; an empty list permits. Everything is asked as “does it hold”, so that what is not a number
 * never holds.
 */

import type { Limits, ProbeLimits, StockLimits } from '../../../src/safety/limits.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import { type Deliveries, type Delivery, deliveriesOf, mostUl } from './deliveries.ts'
import { type NodeNow, nodeNow } from './nodes.ts'
import { probeBlocks, type Seen, seenBy } from './probes.ts'
import { type Standing, standingOf } from './standing.ts'
import type { Told } from './told.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/** All that was told, looked at from one moment. */
export interface View {
  readonly limits: Limits
  readonly atMs: number
  readonly told: readonly Told[]
  readonly standing: Standing
  readonly deliveries: Deliveries
  readonly seen: ReadonlyMap<ProbeLimits, Seen | null>
  readonly siteBlocks: readonly string[]
  readonly stocks: ReadonlyMap<string, StockView>
}

/** What holds for any shot of a stock, whatever its volume, and the bounds on its volume. */
export interface StockView {
  readonly blocks: readonly string[]
  readonly rateUlPerS: number
  readonly maxRunMs: number
  readonly shotMaxUl: number
  readonly hourRoomUl: number
  readonly dayRoomUl: number
  /** infinite for a stock that is no acid */
  readonly acidMaxUl: number
}

/** Recomputes everything for one moment; the wishes of that moment are then cheap to judge. */
export function viewAt(limits: Limits, told: readonly Told[], atMs: number): View {
  const standing = standingOf(limits, told, atMs)
  const deliveries = deliveriesOf(limits, told)
  const seen = new Map(limits.probes.map((probe) => [probe, seenBy(limits, told, probe)]))
  const siteBlocks = [...standing.blocks]
  for (const { trip } of deliveries.trips) siteBlocks.push(`trip ${trip}`)
  for (const [probe, last] of seen) siteBlocks.push(...probeBlocks(limits, probe, last, atMs))
  siteBlocks.push(...waterBlocks(limits, seen, atMs))
  const view = { limits, atMs, told, standing, deliveries, seen, siteBlocks, stocks: new Map<string, StockView>() }
  for (const entry of limits.stocks) {
    if (!view.stocks.has(entry.stock)) view.stocks.set(entry.stock, stockView(view, entry))
  }
  return view
}

/** Every rule that speaks against this wish at the view’s moment; none permits it. */
export function against(view: View, wish: ShotWish): readonly string[] {
  const stock = view.stocks.get(wish.stock)
  if (stock === undefined) return ['no limits for this stock']
  const why = [...view.siteBlocks, ...stock.blocks]
  const { approvedPlans } = view.standing
  if (approvedPlans !== null && !approvedPlans.includes(wish.planId)) why.push('not approved')
  const { volumeUl } = wish
  if (!(Number.isSafeInteger(volumeUl) && volumeUl > 0)) why.push('not a positive whole volume')
  if (!(volumeUl <= stock.shotMaxUl)) why.push('shot')
  if (!(volumeUl <= stock.hourRoomUl)) why.push('hour')
  if (!(volumeUl <= stock.dayRoomUl)) why.push('day')
  if (!(volumeUl <= stock.acidMaxUl)) why.push('acid shot')
  const runMs = (volumeUl * 1000) / stock.rateUlPerS
  if (!(runMs >= 1)) why.push('run too short')
  if (!(runMs <= stock.maxRunMs)) why.push('node’s longest run')
  return why
}

function waterBlocks(limits: Limits, seen: View['seen'], atMs: number): readonly string[] {
  const blocks: string[] = []
  for (const role of ['level', 'flow'] as const) {
    const isDeclared = limits.notFitted.some((entry) => entry.role === role)
    const isThere = [...seen.keys()].some((probe) => probe.role === role)
    if (!isThere && !isDeclared) blocks.push(`${role} neither there nor declared missing`)
  }
  for (const role of ['conductivity', 'ph', 'temperature'] as const) {
    if (![...seen.keys()].some((probe) => probe.role === role)) blocks.push(`no ${role} probe`)
  }
  for (const [probe, last] of seen) {
    const value = last?.value ?? Number.NaN
    if (probe.role === 'level' && !(value >= limits.levelMinL && value <= limits.levelMaxL)) blocks.push('level')
    if (probe.role !== 'flow') continue
    if (!(value >= limits.flowMinLPerMin)) blocks.push('flow too small')
    if (!(steadyMs(last, atMs) >= limits.flowSteadyMs)) blocks.push('flow not steady')
  }
  return blocks
}

/** How long the flow is known to be there: up to the last reading, not up to now. */
function steadyMs(seen: Seen | null, atMs: number): number {
  if (seen === null || seen.flowingSinceMs === null || !(seen.atMs <= atMs)) return Number.NaN
  return seen.atMs - seen.flowingSinceMs
}

function stockView(view: View, entry: StockLimits): StockView {
  const { limits, atMs, told, standing } = view
  const node = nodeNow(limits, told, entry.node, { atMs, term: standing.term })
  const share = limits.notFitted.reduce((product) => product * limits.notFittedCapShare, 1)
  const used = (withinMs: number): number => usedUl(view, entry, withinMs)
  return {
    blocks: [
      ...node.blocks,
      ...commandBlocks(view, entry, node),
      ...gapBlocks(view, entry),
      ...(entry.acid === true ? acidBlocks(view) : []),
    ],
    rateUlPerS: rateOf(told, entry),
    maxRunMs: node.maxRunMs.get(entry.pump) ?? Number.NaN,
    shotMaxUl: positive(entry.shotMaxUl) * share,
    hourRoomUl: positive(entry.hourMaxUl) * share - used(HOUR_MS),
    dayRoomUl: positive(entry.dayMaxUl) * share - used(DAY_MS),
    acidMaxUl: entry.acid === true ? acidMaxUl(view) : Number.POSITIVE_INFINITY,
  }
}

/** Everything that may have come within the window that ends now: what ended in it, and all that is not settled. */
function usedUl(view: View, entry: StockLimits, withinMs: number): number {
  let sumUl = 0
  for (const row of view.deliveries.rows) {
    if (row.stock === entry.stock && !(view.atMs - row.endMs > withinMs)) sumUl += row.highUl
  }
  for (const command of view.deliveries.unsettled) {
    if (command.stock === entry.stock) sumUl += Math.max(command.volumeUl, mostUl(command.runMs, command.rateUlPerS))
  }
  return sumUl
}

function commandBlocks(view: View, entry: StockLimits, node: NodeNow): readonly string[] {
  const blocks: string[] = []
  if (view.deliveries.unsettled.some((command) => command.node === entry.node)) blocks.push('command not settled')
  if (!node.countedPumps.has(entry.pump)) blocks.push('totaliser not heard')
  return blocks
}

function gapBlocks(view: View, entry: StockLimits): readonly string[] {
  const blocks: string[] = []
  if (!(sinceEndMs(view, entry.stock) >= wait(entry.gapMs))) blocks.push('gap')
  for (const other of view.limits.stocks) {
    if (other.stock === entry.stock) continue
    for (const apartMs of apartMsOf(entry, other)) {
      if (!(sinceEndMs(view, other.stock) >= wait(apartMs))) blocks.push(`apart from ${other.stock}`)
    }
  }
  return blocks
}

function apartMsOf(entry: StockLimits, other: StockLimits): readonly number[] {
  const own = entry.apart.filter((apart) => apart.from === other.stock)
  const others = other.apart.filter((apart) => apart.from === entry.stock)
  return [...own, ...others].map((apart) => apart.ms)
}

/** Time since a stock may last have run; not a number while one of its commands is not settled. */
function sinceEndMs(view: View, stock: string): number {
  if (view.deliveries.unsettled.some((command) => command.stock === stock)) return Number.NaN
  return view.atMs - lastEndMs(view.deliveries.rows, [stock])
}

function lastEndMs(rows: readonly Delivery[], stocks: readonly string[]): number {
  return Math.max(...rows.filter((row) => stocks.includes(row.stock)).map((row) => row.endMs), Number.NEGATIVE_INFINITY)
}

function acidBlocks(view: View): readonly string[] {
  const { limits, atMs, deliveries } = view
  const acid = limits.acid
  if (acid === undefined) return ['no acid limits']
  const blocks: string[] = []
  const acids = limits.stocks.filter((entry) => entry.acid === true).map((entry) => entry.stock)
  const open = deliveries.unsettled.some((command) => acids.includes(command.stock))
  const mixedMs = open ? Number.NaN : lastEndMs(deliveries.rows, acids) + positive(limits.mixingMs)
  if (!(atMs >= mixedMs)) blocks.push('acid not mixed in')
  for (const [probe, seen] of view.seen) {
    if (probe.role === 'flow' && !(steadyMs(seen, atMs) >= wait(acid.afterFlowMs))) blocks.push('acid after flow')
    if (probe.role !== 'ph') continue
    const readAtMs = seen?.atMs ?? Number.NaN
    if (!(readAtMs >= mixedMs)) blocks.push('pH not after mixing')
    if (!(atMs - readAtMs <= positive(acid.phFreshMs))) blocks.push('pH not fresh')
    if (!((seen?.value ?? Number.NaN) > positive(acid.phFloor))) blocks.push('pH at or below the floor')
  }
  if (limits.notFitted.some((entry) => entry.role === 'flow')) blocks.push('acid without a flow probe')
  return blocks
}

/** Volume of acid that the smaller of the stated and the read reservoir stands in one shot. */
function acidMaxUl(view: View): number {
  const acid = view.limits.acid
  if (acid === undefined) return Number.NaN
  let reservoirL = positive(acid.reservoirMinL)
  for (const [probe, seen] of view.seen) {
    if (probe.role === 'level') reservoirL = Math.min(reservoirL, positive(seen?.value ?? Number.NaN))
  }
  return (positive(acid.shotMaxMeqPerL) * reservoirL * 1000) / positive(acid.meqPerMl)
}

function rateOf(told: readonly Told[], entry: StockLimits): number {
  let rateUlPerS = positive(entry.rateUlPerS)
  for (const event of told) {
    if (event.kind !== 'instruction' || event.instruction.instruction !== 'pump-rate') continue
    if (event.instruction.stock !== entry.stock || !(event.instruction.rateMlPerMin > 0)) continue
    rateUlPerS = (event.instruction.rateMlPerMin * 1000) / 60
  }
  return rateUlPerS
}

/** A number that must be positive and finite; anything else allows nothing. */
function positive(value: number): number {
  return Number.isFinite(value) && value > 0 ? value : Number.NaN
}

/** A wait that must be given; what is no number never ends. */
function wait(value: number): number {
  return Number.isFinite(value) && value >= 0 ? value : Number.NaN
}
