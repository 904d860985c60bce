/**
 * All that this model knows: a flat list of everything that happened, oldest first. Nothing is summed up on the way;
 * every question is answered by looking through the list.
 */

import type { Limits, StockLimits } from '../../../src/safety/limits.ts'
import type { Mode, ShotWish } from '../../../src/safety/types.ts'

export interface Reading {
  readonly id: string
  readonly value: number
  readonly quality: 'good' | 'uncertain' | 'bad'
}

export interface PumpCount {
  readonly id: string
  readonly totalRunMs: number
  readonly doubtMs: number
  readonly runningId: string | null
}

export interface Heartbeat {
  readonly what: 'heartbeat'
  readonly atMs: number
  readonly node: string
  readonly boot: string
  readonly uptimeMs: number
  readonly term: number
  readonly pumps: readonly PumpCount[]
}

export interface Report {
  readonly what: 'report'
  readonly atMs: number
  readonly node: string
  readonly pump: string
  readonly commandId: string
  readonly boot: string
  readonly uptimeMs: number
  readonly state: 'accepted' | 'running' | 'done' | 'refused' | 'stopped'
  readonly ranMs: number
  readonly totalRunMs: number
}

export interface Status {
  readonly what: 'status'
  readonly atMs: number
  readonly node: string
  readonly contract: number
  readonly online: boolean
  readonly boot: string
  readonly pumps: readonly { readonly id: string; readonly maxRunMs: number }[] | null
}

export interface Command {
  readonly what: 'command'
  readonly atMs: number
  readonly id: string
  readonly wish: ShotWish
}

/** What a person did or ordered. */
export type Word =
  | { readonly what: 'refilled'; readonly atMs: number; readonly stock: string; volumeMl: number; doneAtMs: number }
  | { readonly what: 'rinsed'; readonly atMs: number; readonly doneAtMs: number }
  /** solution let go or changed, or salt put in */
  | { readonly what: 'water-moved'; readonly atMs: number }
  | { readonly what: 'probe-checked'; readonly atMs: number; readonly doneAtMs: number }
  | { readonly what: 'mode'; readonly atMs: number; readonly mode: Mode; by: string; reason: string }
  | { readonly what: 'approve'; readonly atMs: number; readonly planId: string; by: string; reason: string }
  | { readonly what: 'hold' | 'release'; readonly atMs: number; by: string; reason: string }
  | { readonly what: 'reset'; readonly atMs: number; readonly trip: string; by: string; reason: string }
  | { readonly what: 'ration'; readonly atMs: number; readonly approve: boolean; by: string; reason: string }
  | { readonly what: 'sanitise'; readonly atMs: number; readonly begin: boolean; by: string; reason: string }
  | { readonly what: 'rate'; readonly atMs: number; readonly stock: string; readonly rateUlPerS: number }

export type Item =
  | { readonly what: 'start'; readonly atMs: number; readonly term: number }
  | { readonly what: 'edge'; readonly atMs: number; readonly edge: 'link' | 'disk' | 'clock'; readonly well: boolean }
  | { readonly what: 'scan'; readonly atMs: number; readonly node: string; readonly readings: readonly Reading[] }
  | { readonly what: 'sent'; readonly atMs: number; readonly commandId: string }
  | { readonly what: 'not-sent'; readonly atMs: number; readonly commandId: string }
  | { readonly what: 'tick'; readonly atMs: number }
  | Status
  | Heartbeat
  | Report
  | Command
  | Word

export type History = readonly Item[]

/** The place of the last start; -1 where there was none. */
export function lastStart(history: History): number {
  return history.findLastIndex((item) => item.what === 'start')
}

export function notBlank(text: string): boolean {
  return text.trim() !== ''
}

export function entryOf(limits: Limits, stock: string): StockLimits | null {
  return limits.stocks.find((entry) => entry.stock === stock) ?? null
}

/** Microlitres a second as a person measured them by then, else as the limits say; NaN for a stock without entry. */
export function rateAt(history: History, limits: Limits, stock: string, before = history.length): number {
  const usualUlPerS = entryOf(limits, stock)?.rateUlPerS ?? NaN
  for (let at = before - 1; at >= 0; at -= 1) {
    const item = history[at]!
    if (item.what !== 'rate' || item.stock !== stock) continue
    const heardUlPerS = (((item.rateUlPerS * 60) / 1000) * 1000) / 60
    if (heardUlPerS >= 0.5 * usualUlPerS && heardUlPerS <= 2 * usualUlPerS) return heardUlPerS
  }
  return usualUlPerS
}

export function runMsOf(volumeUl: number, rateUlPerS: number): number {
  return Math.floor((volumeUl * 1000) / rateUlPerS + 1e-7)
}
