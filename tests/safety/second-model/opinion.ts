/**
 * The second model’s opinion of a wish: from the documented rules, by a way of its own. It names every rule that
 * speaks against a shot; an empty list permits. Everything is asked as “does it hold”, so that what is not a number
 * never holds.
 */

import type { Limits, ProbeLimits, StockLimits } from '../../../src/safety/limits.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import { type Answers, SETTLED } from './answers.ts'
import { type Deliveries, deliveriesOf } from './deliveries.ts'
import { type NodeNow, nodeNow } from './nodes.ts'
import { probeBlocks, type Seen, seenBy } from './probes.ts'
import { type Standing, standingOf } from './standing.ts'
import type { Told } from './told.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/** What a division of doubles may be off by, far below a microlitre. */
const ROUNDING_UL = 1e-6

/** All that was told, looked at from one moment. */
export interface View {
  readonly limits: Limits
  readonly atMs: number
  readonly told: readonly Told[]
  readonly answers: Answers
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
export function viewAt(limits: Limits, told: readonly Told[], atMs: number, answers: Answers = SETTLED): View {
  const standing = standingOf(limits, told, atMs, answers)
  const deliveries = deliveriesOf(limits, told, answers)
  const seen = new Map(limits.probes.map((probe) => [probe, seenBy(limits, told, probe, answers)]))
  const siteBlocks = [...standing.blocks]
  if (deliveries.unsettled.some((command) => command.isOld)) siteBlocks.push('a command from before the start')
  for (const { trip } of deliveries.trips) siteBlocks.push(`trip ${trip}`)
  for (const [probe, last] of seen) siteBlocks.push(...probeBlocks(limits, probe, last, { atMs, answers }))
  siteBlocks.push(...waterBlocks(limits, seen, { atMs, answers }))
  const stocks = new Map<string, StockView>()
  const view = { limits, atMs, told, answers, standing, deliveries, seen, siteBlocks, stocks }
  const nodes = new Map<string, NodeNow>()
  for (const entry of limits.stocks) {
    const ask = { atMs, term: standing.term, answers }
    const node = nodes.get(entry.node) ?? nodeNow(limits, told, entry.node, ask)
    nodes.set(entry.node, node)
    if (!stocks.has(entry.stock)) stocks.set(entry.stock, stockView(view, entry, node))
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
  if (!(volumeUl <= stock.acidMaxUl + ROUNDING_UL)) why.push('acid shot')
  // The whole milliseconds that never bring more than was asked, but for the rounding of the division.
  const runMs = Math.floor((volumeUl * 1000) / stock.rateUlPerS + 1e-7)
  if (!(runMs >= 1)) why.push('run too short')
  if (!(runMs <= stock.maxRunMs)) why.push('node’s longest run')
  return why
}

type Asked = { readonly atMs: number; readonly answers: Answers }

function waterBlocks(limits: Limits, seen: View['seen'], ask: Asked): readonly string[] {
  const blocks: string[] = []
  for (const role of ['level', 'flow'] as const) {
    const isDeclared = limits.notFitted.some((entry) => entry.role === role && entry.reason.trim() !== '')
    const isThere = [...seen.keys()].some((probe) => probe.role === role)
    if (!isThere && !isDeclared) blocks.push(`${role} neither there nor declared missing`)
  }
  const always = ['conductivity', 'ph', ...(ask.answers.needsTemperature ? ['temperature'] : [])]
  for (const role of always) {
    if (![...seen.keys()].some((probe) => probe.role === role)) blocks.push(`no ${role} probe`)
  }
  for (const [probe, last] of seen) {
    const value = last?.value ?? Number.NaN
    if (probe.role === 'level' && !(value >= limits.levelMinL && value <= limits.levelMaxL)) blocks.push('level')
    if (probe.role !== 'flow') continue
    if (!(value >= limits.flowMinLPerMin)) blocks.push('flow too small')
    if (!(steadyMs(last, ask) >= limits.flowSteadyMs)) blocks.push('flow not steady')
  }
  return blocks
}

function steadyMs(seen: Seen | null, { atMs, answers }: Asked): number {
  if (seen === null || seen.flowingSinceMs === null || !(seen.atMs <= atMs)) return Number.NaN
  return (answers.flowToReading ? seen.atMs : atMs) - seen.flowingSinceMs
}

function stockView(view: View, entry: StockLimits, node: NodeNow): StockView {
  const share = shareOf(view)
  const used = (withinMs: number): number => usedUl(view, entry, withinMs)
  return {
    blocks: [
      ...node.blocks,
      ...commandBlocks(view, entry, node),
      ...gapBlocks(view, entry),
      ...(entry.acid === true ? acidBlocks(view) : []),
    ],
    rateUlPerS: view.deliveries.rates.get(entry.stock) ?? Number.NaN,
    maxRunMs: node.maxRunMs.get(entry.pump) ?? Number.NaN,
    shotMaxUl: positive(entry.shotMaxUl) * share,
    hourRoomUl: positive(entry.hourMaxUl) * share - used(HOUR_MS),
    dayRoomUl: positive(entry.dayMaxUl) * share - used(DAY_MS),
    acidMaxUl: entry.acid === true ? acidMaxUl(view) : Number.POSITIVE_INFINITY,
  }
}

/** One share for each sensor that is missing; above one it would loosen the caps, so it is none. */
function shareOf({ limits, answers }: View): number {
  const fitted = new Set(limits.probes.map((probe) => probe.role))
  const missing = answers.declaredTightens
    ? limits.notFitted.map((sensor) => sensor.role)
    : (['level', 'flow'] as const).filter((role) => !fitted.has(role))
  const share = limits.notFittedCapShare
  return missing.reduce((product) => product * (share >= 0 && share <= 1 ? share : Number.NaN), 1)
}

function isInside(view: View, endMs: number, withinMs: number): boolean {
  const agoMs = view.atMs - endMs
  return !(view.answers.windowClosed ? agoMs > withinMs : agoMs >= withinMs)
}

/** Everything that may have come within the window that ends now: what ended in it, and all that is not settled. */
function usedUl(view: View, entry: StockLimits, withinMs: number): number {
  let sumUl = 0
  for (const row of view.deliveries.rows) {
    if (row.stock === entry.stock && isInside(view, row.endMs, withinMs)) sumUl += row.highUl
  }
  for (const command of view.deliveries.unsettled) {
    if (command.stock !== entry.stock) continue
    if (view.answers.unsettledNeverEnds || isInside(view, command.latestEndMs, withinMs)) sumUl += command.volumeUl
  }
  return sumUl
}

function commandBlocks(view: View, entry: StockLimits, node: NodeNow): readonly string[] {
  const blocks: string[] = []
  for (const command of view.deliveries.unsettled) {
    if (command.node !== entry.node) continue
    // Unknown is not over: until its last moment is past it may still be on its way.
    const mayCome = view.answers.overdueBlocksNode || !command.isUnknown || !(view.atMs > command.latestEndMs)
    if (mayCome || command.pump === entry.pump) blocks.push('command not settled')
  }
  if (!isCounted(view, entry, node)) blocks.push('totaliser not heard')
  return blocks
}

function isCounted(view: View, entry: StockLimits, node: NodeNow): boolean {
  if (node.countedPumps.has(entry.pump)) return true
  return !view.answers.countsOfThisBoot && view.deliveries.counted.has(`${entry.node}/${entry.pump}`)
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
  return view.atMs - lastEndMs(view, [stock])
}

function lastEndMs(view: View, stocks: readonly string[]): number {
  const { rows, unsettled } = view.deliveries
  const open = unsettled.filter((command) => stocks.includes(command.stock))
  if (open.length > 0 && view.answers.unsettledNeverEnds) return Number.NaN
  const ended = rows.filter((row) => stocks.includes(row.stock)).map((row) => row.endMs)
  return Math.max(...ended, ...open.map((command) => command.latestEndMs), Number.NEGATIVE_INFINITY)
}

function acidBlocks(view: View): readonly string[] {
  const { limits, atMs } = view
  const acid = limits.acid
  if (acid === undefined) return ['no acid limits']
  const blocks: string[] = []
  const acids = limits.stocks.filter((entry) => entry.acid === true).map((entry) => entry.stock)
  const mixedMs = lastEndMs(view, acids) + positive(limits.mixingMs)
  if (!(atMs >= mixedMs)) blocks.push('acid not mixed in')
  for (const [probe, seen] of view.seen) {
    if (probe.role === 'flow' && !(steadyMs(seen, view) >= wait(acid.afterFlowMs))) blocks.push('acid after flow')
    if (probe.role !== 'ph') continue
    const readAtMs = seen?.atMs ?? Number.NaN
    if (!(readAtMs >= mixedMs)) blocks.push('pH not after mixing')
    if (!(atMs - readAtMs <= positive(acid.phFreshMs))) blocks.push('pH not fresh')
    if (!((seen?.value ?? Number.NaN) > positive(acid.phFloor))) blocks.push('pH at or below the floor')
  }
  const hasFlow = limits.probes.some((probe) => probe.role === 'flow')
  if (!hasFlow && view.answers.acidNeedsFlowProbe) blocks.push('acid without a flow probe')
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

/** A number that must be positive and finite; anything else allows nothing. */
function positive(value: number): number {
  return Number.isFinite(value) && value > 0 ? value : Number.NaN
}

/** A wait that must be given; what is no number never ends. */
function wait(value: number): number {
  return Number.isFinite(value) && value >= 0 ? value : Number.NaN
}
