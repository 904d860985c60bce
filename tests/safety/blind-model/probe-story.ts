/** What a probe last said, and for how long; and the counter of the make-up water. */

import type { Limits, MeterLimits, ProbeLimits } from '../../../src/safety/limits.ts'
import { type History, lastStart, type Reading } from './history.ts'

export interface Said extends Reading {
  readonly atMs: number
}

export interface ProbeStory {
  readonly probe: ProbeLimits
  /** the last reading since the start; null where there is none */
  readonly last: Said | null
  readonly sameSinceMs: number
  /** NaN where it does not flow */
  readonly flowingSinceMs: number
}

/** Every reading of a probe in the scans of its own node, newest first. */
function* saidBack(history: History, node: string, id: string): Generator<Said> {
  const from = lastStart(history)
  for (let at = history.length - 1; at > from; at -= 1) {
    const item = history[at]!
    if (item.what !== 'scan' || item.node !== node) continue
    for (let one = item.readings.length - 1; one >= 0; one -= 1) {
      const reading = item.readings[one]!
      if (reading.id === id) yield { ...reading, atMs: item.atMs }
    }
  }
}

export function probeStory(history: History, limits: Limits, probe: ProbeLimits): ProbeStory {
  let last: Said | null = null
  let same = NaN
  let flowing = NaN
  let isSame = true
  let isFlowing = true
  let laterMs = NaN
  for (const said of saidBack(history, probe.node, probe.id)) {
    if (last === null) last = said
    isSame = isSame && (said === last || said.value === last.value)
    if (isSame) same = said.atMs
    isFlowing = isFlowing && flows(limits, said) && (said === last || laterMs - said.atMs <= limits.scanAgeMaxMs)
    if (isFlowing) flowing = said.atMs
    laterMs = said.atMs
    if (!isSame && (!isFlowing || probe.role !== 'flow')) break
  }
  return { probe, last, sameSinceMs: same, flowingSinceMs: flowing }
}

function flows(limits: Limits, said: Said): boolean {
  return said.quality === 'good' && said.value >= limits.flowMinLPerMin
}

/** Where the very value stays too long; flow, top-up and the switch only by an own time. */
export function isNotStuck(limits: Limits, story: ProbeStory): boolean {
  if (story.last === null) return false
  const shownMs = story.last.atMs - story.sameSinceMs
  const { role, stuckMs } = story.probe
  const never = role === 'flow' || role === 'top-up' || role === 'hold-switch'
  if (stuckMs === undefined && never) return shownMs >= 0
  return shownMs >= 0 && shownMs < (stuckMs ?? limits.stuckMs)
}

/** A probe a ration may stand in for is one that tells nothing now. */
export function isLost(limits: Limits, story: ProbeStory, nowMs: number): boolean {
  const { last } = story
  if (last === null || last.quality !== 'good' || !Number.isFinite(last.value)) return true
  const ageMs = nowMs - last.atMs
  return !(ageMs >= 0 && ageMs <= limits.scanAgeMaxMs) || !isNotStuck(limits, story)
}

const MARK_EVERY_MS = 5 * 60_000

export interface MeterStory {
  readonly sumL: number
  readonly marks: readonly { readonly atMs: number; readonly sumL: number }[]
  /** its last good reading; NaN where there is none */
  readonly lastMs: number
}

/** The counter outlives a start. */
export function meterStory(history: History, meter: MeterLimits | undefined): MeterStory {
  const marks: { atMs: number; sumL: number }[] = []
  let [sumL, baseL, baseMs, lastMs] = [0, NaN, NaN, NaN]
  if (meter === undefined) return { sumL, marks, lastMs }
  for (const item of history) {
    if (item.what !== 'scan' || item.node !== meter.node) continue
    for (const { id, value, quality } of item.readings) {
      const counts = id === meter.id && quality === 'good' && Number.isFinite(value) && value >= 0
      if (!counts || !(marks.length === 0 || item.atMs > baseMs)) continue
      if (marks.length > 0) {
        const mostL = (meter.maxLPerMin * (item.atMs - baseMs)) / 60_000
        if (value > baseL && mostL >= 0) sumL += Math.min(value - baseL, mostL)
      }
      ;[baseL, baseMs, lastMs] = [value, item.atMs, item.atMs]
      const newest = marks.at(-1)
      if (newest === undefined || item.atMs - newest.atMs >= MARK_EVERY_MS) marks.push({ atMs: item.atMs, sumL })
    }
  }
  return { sumL, marks, lastMs }
}

export function litresOf(story: MeterStory, nowMs: number, windowMs: number): number {
  const mark = story.marks.find((one) => one.atMs >= nowMs - windowMs)
  return mark === undefined ? 0 : story.sumL - mark.sumL
}
