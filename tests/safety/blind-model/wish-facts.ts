/** What the rows need to know of the wish’s stock and of the water, NaN where it cannot be known. */

import type { ProbeRole, StockLimits } from '../../../src/safety/limits.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import { entryOf, rateAt, runMsOf } from './history.ts'
import { once, type Past } from './past.ts'
import type { ProbeStory } from './probe-story.ts'
import { isLost } from './probe-story.ts'

export const HOUR_MS = 3_600_000
export const DAY_MS = 24 * HOUR_MS

export interface Asked {
  readonly past: Past
  readonly wish: ShotWish
  readonly commandId: string
  readonly nowMs: number
  readonly entry: StockLimits | null
}

/** What must hold, by the names the gate gives. */
export type Rows = Readonly<Record<string, (it: Asked) => boolean>>

export function asked(past: Past, wish: ShotWish, commandId: string, nowMs: number): Asked {
  return { past, wish, commandId, nowMs, entry: entryOf(past.limits, wish.stock) }
}

export function rateOf({ past, wish }: Asked): number {
  return once(past, `rate ${wish.stock}`, () => rateAt(past.history, past.limits, wish.stock))
}

export function runMs(it: Asked): number {
  return runMsOf(it.wish.volumeUl, rateOf(it))
}

interface Counted {
  readonly stock: string
  readonly volumeUl: number
  readonly endMs: number
  readonly isCalibration: boolean
}

/** Every delivery and every command that nothing has settled, which counts in full. */
export function counted({ past }: Asked): Counted[] {
  return once(past, 'counted', () => countAll(past))
}

function countAll(past: Past): Counted[] {
  const settled = past.deliveries.map((one) => ({
    stock: one.stock,
    volumeUl: one.highUl,
    endMs: one.endMs,
    isCalibration: one.order?.command.wish.purpose === 'calibration',
  }))
  const open = past.orders.map(({ command, endMs }) => ({
    stock: command.wish.stock,
    volumeUl: command.wish.volumeUl,
    endMs,
    isCalibration: command.wish.purpose === 'calibration',
  }))
  return [...settled, ...open]
}

export function sumUl(it: Asked, windowMs: number, counts: (one: Counted) => boolean): number {
  let sum = 0
  for (const one of counted(it)) if (one.endMs > it.nowMs - windowMs && counts(one)) sum += one.volumeUl
  return sum
}

export function openUl(it: Asked): number {
  return it.past.orders.reduce(
    (sum, { command }) => sum + (command.wish.stock === it.wish.stock ? command.wish.volumeUl : 0),
    0,
  )
}

/** Time since the last delivery of these stocks may have ended; Infinity where they never ran. */
export function sinceMs(it: Asked, isOne: (stock: string) => boolean): number {
  let lastMs = -Infinity
  for (const one of counted(it)) if (isOne(one.stock)) lastMs = Math.max(lastMs, one.endMs)
  return it.nowMs - lastMs
}

export function isMarked(it: Asked, kind: 'acid' | 'base'): (stock: string) => boolean {
  return (stock) => entryOf(it.past.limits, stock)?.[kind] === true
}

export function ofRole(it: Asked, role: ProbeRole): readonly ProbeStory[] {
  return it.past.probes.filter((one) => one.probe.role === role)
}

export function isFitted(it: Asked, role: ProbeRole): boolean {
  return ofRole(it, role).length > 0
}

export function lowest(it: Asked, role: ProbeRole): number {
  return isFitted(it, role) ? Math.min(...ofRole(it, role).map((one) => one.last?.value ?? NaN)) : NaN
}

export function highest(it: Asked, role: ProbeRole): number {
  return isFitted(it, role) ? Math.max(...ofRole(it, role).map((one) => one.last?.value ?? NaN)) : NaN
}

/** How long every flow probe has been flowing; NaN where one does not. */
export function flowingMs(it: Asked): number {
  if (!isFitted(it, 'flow')) return NaN
  return it.nowMs - Math.max(...ofRole(it, 'flow').map((one) => one.flowingSinceMs))
}

/** The not-fitted share; NaN where it is none. */
export function shareOf(it: Asked): number {
  const share = it.past.limits.notFittedCapShare
  return share >= 0 && share <= 1 ? share : NaN
}

export function cap(it: Asked, maxUl: number | undefined): number {
  const missing = (['level', 'flow'] as const).filter((role) => !isFitted(it, role))
  const share = missing.reduce((left) => left * shareOf(it), 1)
  return Math.floor((maxUl ?? NaN) * share)
}

/** The water a reagent is sure to meet. */
export function surestL(it: Asked, declaredL: number): number {
  return isFitted(it, 'level') ? Math.min(declaredL, lowest(it, 'level')) : declaredL
}

/** The one probe a ration stands in for, or null. */
export function coveredLoss(it: Asked): ProbeStory | null {
  const lost = it.past.probes.filter((one) => isLost(it.past.limits, one, it.nowMs))
  const [only] = lost
  if (lost.length !== 1 || only === undefined) return null
  const { role } = only.probe
  if (role !== 'conductivity' && role !== 'ph') return null
  return it.past.limits.ration?.covers.includes(role) === true ? only : null
}

export function isRation(it: Asked): boolean {
  return it.wish.purpose !== undefined && it.wish.purpose !== 'calibration'
}
