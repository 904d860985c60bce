/** How far the effect of each stock is proven: the story of its shots and of the contrasts they made. */

import type { EffectLimits, Limits } from '../../../src/safety/limits.ts'
import { countsAsRefill } from './bottle-story.ts'
import { binsOf, type ContrastWanted, contrastOf, type Moved } from './contrast.ts'
import { entryOf, type History, lastStart, notBlank } from './history.ts'
import { isSigned } from './people.ts'
import type { Delivery, Order, TripMark } from './pump-story.ts'

export interface Effect {
  unverifiedUl: number
  information: number
  agreement: number
  against: number
  contrast: ContrastWanted | null
}

export interface EffectStory {
  readonly byStock: ReadonlyMap<string, Effect>
  readonly trips: readonly TripMark[]
}

export interface EffectBounds {
  readonly mostUl: number
  readonly showUl: number
}

/** Null where the site does not say how effects are checked, or says why not. */
export function effectLimitsOf(limits: Limits): EffectLimits | null {
  return limits.effect === undefined || 'notChecked' in limits.effect ? null : limits.effect
}

/** Rise by 1 mL in 1 L of a stock; NaN where it has none. */
export function riseOf(limits: Limits, stock: string): number {
  return entryOf(limits, stock)?.effect?.dsPerMPerMlPerL ?? NaN
}

/** A rise that is 0, missing or no finite number is none. */
export function hasRise(limits: Limits, stock: string): boolean {
  const rise = riseOf(limits, stock)
  return Number.isFinite(rise) && rise !== 0
}

function isTested(limits: Limits, stock: string): boolean {
  const untold = entryOf(limits, stock)?.effect?.untold ?? ''
  return effectLimitsOf(limits) !== null && hasRise(limits, stock) && !notBlank(untold)
}

/** Least and most water by the level probes’ last words, or by the limits where there are none. */
export function waterOf(history: History, limits: Limits): { leastL: number; mostL: number } {
  const probes = limits.probes.filter((probe) => probe.role === 'level')
  if (probes.length === 0) return { leastL: limits.levelMinL, mostL: limits.levelMaxL }
  const from = lastStart(history)
  const values = probes.map((probe) => {
    for (let at = history.length - 1; at > from; at -= 1) {
      const item = history[at]!
      if (item.what !== 'scan' || item.node !== probe.node) continue
      const reading = item.readings.findLast((one) => one.id === probe.id)
      if (reading !== undefined) return reading.value
    }
    return NaN
  })
  return { leastL: Math.min(...values), mostL: Math.max(...values) }
}

export function boundsOf(history: History, limits: Limits, stock: string): EffectBounds {
  const effect = effectLimitsOf(limits)
  if (effect === null) return { mostUl: NaN, showUl: NaN }
  const { leastL, mostL } = waterOf(history, limits)
  const rise = Math.abs(riseOf(limits, stock))
  const wantedUl = Math.ceil((effect.showDsPerM * mostL * 1000) / rise - 1e-6)
  return {
    mostUl: Math.floor((effect.unverifiedMaxDsPerM * leastL * 1000) / rise + 1e-6),
    showUl: Math.min(wantedUl, entryOf(limits, stock)?.shotMaxUl ?? NaN),
  }
}

export function effectStory(
  history: History,
  limits: Limits,
  deliveries: readonly Delivery[],
  orders: readonly Order[],
): EffectStory {
  const teller = new Teller(history, limits, deliveries, orders)
  if (effectLimitsOf(limits) !== null && deliveries.length > 0)
    for (let at = deliveries[0]!.at; at < history.length; at += 1) teller.tell(at)
  return { byStock: teller.byStock, trips: teller.trips }
}

class Teller {
  byStock = new Map<string, Effect>()
  trips: TripMark[] = []

  readonly history: History
  readonly limits: Limits
  readonly deliveries: readonly Delivery[]
  readonly orders: readonly Order[]

  constructor(history: History, limits: Limits, deliveries: readonly Delivery[], orders: readonly Order[]) {
    this.history = history
    this.limits = limits
    this.deliveries = deliveries
    this.orders = orders
  }

  tell(at: number): void {
    const item = this.history[at]!
    for (const one of this.deliveries) if (one.at === at) this.settled(one, at)
    if (countsAsRefill(item)) this.byStock.delete(item.stock)
    else if (item.what === 'reset' && item.trip.startsWith('effect-') && isSigned(item)) this.wasReset(item.trip)
    else if (item.what === 'water-moved') for (const effect of this.byStock.values()) effect.contrast = null
    else if (item.what === 'tick') this.ticked(item.atMs, at)
  }

  of(stock: string): Effect {
    const effect = this.byStock.get(stock)
    if (effect !== undefined) return effect
    const fresh = { unverifiedUl: 0, information: 0, agreement: 0, against: 0, contrast: null }
    this.byStock.set(stock, fresh)
    return fresh
  }

  wasReset(trip: string): void {
    for (const mark of this.trips) if (mark.trip === trip) this.byStock.delete(mark.subject)
    this.trips = this.trips.filter((mark) => mark.trip !== trip)
  }

  settled(one: Delivery, at: number): void {
    if (one.order?.command.wish.purpose === 'calibration' || !(one.highUl > 0)) return
    const effect = this.of(one.stock)
    effect.unverifiedUl += one.highUl
    if (!isTested(this.limits, one.stock)) return
    const { showUl } = boundsOf(this.history.slice(0, at + 1), this.limits, one.stock)
    if (one.order !== null && effect.contrast === null && one.highUl >= 0.5 * showUl) {
      const { lowUl, highUl, endMs, stock } = one
      const fromMs = one.order.command.atMs
      effect.contrast = { stock, fromMs, endMs, lowUl, highUl, coversUl: effect.unverifiedUl, delivery: one }
    } else if (this.isLast(one.stock, at)) {
      effect.contrast = null
      this.decide(one.stock, at, effect.unverifiedUl)
    }
  }

  isLast(stock: string, at: number): boolean {
    const { mostUl, showUl } = boundsOf(this.history.slice(0, at + 1), this.limits, stock)
    return mostUl - this.of(stock).unverifiedUl < 0.5 * showUl
  }

  ticked(nowMs: number, at: number): void {
    const limits = effectLimitsOf(this.limits)!
    for (const [stock, effect] of this.byStock) {
      const { contrast } = effect
      if (contrast === null || !(nowMs >= contrast.endMs + this.limits.mixingMs + limits.windowMs)) continue
      const history = this.history.slice(0, at + 1)
      const others = this.movedBy(at, contrast.delivery)
      effect.contrast = null
      const seen = contrastOf(
        this.limits,
        contrast,
        binsOf(history, this.limits),
        others,
        waterOf(history, this.limits),
      )
      if (seen !== null) {
        const { expected, step, variance } = seen
        effect.information += expected ** 2 / variance
        effect.agreement += (expected * step) / variance
        if (judged(limits, expected ** 2 / variance, (expected * step) / variance).ratio > 0) effect.against += 1
        else effect.against = 0
      }
      this.decide(stock, at, contrast.coversUl)
    }
  }

  /** Every other delivery told by then, and every command not settled by then. */
  movedBy(at: number, own: Delivery): Moved[] {
    const settled = this.deliveries.filter((one) => one.at <= at && one !== own)
    const open = this.orders.filter((one) => one.at <= at && !(one.settledAt <= at))
    return [
      ...settled.map(({ stock, highUl, endMs }) => ({ stock, highUl, endMs, isOpen: false })),
      ...open.map(({ command: { wish }, endMs }) => ({
        stock: wish.stock,
        highUl: wish.volumeUl,
        endMs,
        isOpen: true,
      })),
    ]
  }

  decide(stock: string, at: number, coversUl: number): void {
    const limits = effectLimitsOf(this.limits)!
    const effect = this.of(stock)
    const { ratio, name } = judged(limits, effect.information, effect.agreement)
    const wrongFrom = Math.log((1 - limits.missRisk) / limits.falseTripRisk)
    const rightTo = Math.log(limits.missRisk / (1 - limits.falseTripRisk))
    if (ratio >= wrongFrom && effect.against >= 2) this.trip(name, stock, at)
    else if (ratio <= rightTo) this.verify(stock, coversUl)
    else if (this.isLast(stock, at)) {
      if (!(effect.information / 8 >= -rightTo / 2)) this.trip('unseen', stock, at)
      else if (ratio < 0) this.verify(stock, coversUl)
      else this.trip(name, stock, at)
    }
  }

  verify(stock: string, coversUl: number): void {
    const unverifiedUl = this.of(stock).unverifiedUl - coversUl
    this.byStock.set(stock, { unverifiedUl, information: 0, agreement: 0, against: 0, contrast: null })
  }

  trip(name: string, stock: string, at: number): void {
    this.trips.push({ at, trip: `effect-${name}`, subject: stock })
  }
}

const ELSE = [
  ['none', 0],
  ['too-little', 0.5],
  ['too-much', 2],
  ['opposite', -1],
] as const

/** How much likelier the likeliest of the wrong responses is than the declared one, as a logarithm. */
function judged(limits: EffectLimits, information: number, agreement: number): { ratio: number; name: string } {
  const likelihood = (k: number): number => k * agreement - (k ** 2 * information) / 2
  const best = information > 0 ? agreement / information : 1
  const declared = likelihood(Math.min(Math.max(best, 1 - limits.tolerance), 1 + limits.tolerance))
  let [ratio, name]: [number, string] = [-Infinity, 'none']
  // what is no number verifies nothing
  for (const [wrong, k] of ELSE)
    if (!(likelihood(k) - declared <= ratio)) [ratio, name] = [likelihood(k) - declared, wrong]
  return { ratio, name }
}
