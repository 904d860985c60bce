// When each shot of a plan may run: stocks that must not meet lie apart, acid lies a full mixing apart, and no two
// pumps run at once.

import type { StockKind } from '../settings.ts'
import type { Dosable } from './dosable.ts'
import type { PlanShot } from './plan.ts'
import type { PlanWaits } from './plan-input.ts'

export interface LayoutQuestion {
  readonly atMs: number
  readonly untilMs: number
  readonly waits: PlanWaits
  /** pH so high that phosphate could meet calcium: then acid goes before both */
  readonly acidFirst: boolean
  readonly batches: readonly ShotBatch[]
}

export interface ShotBatch {
  readonly dosable: Dosable
  readonly shotsUl: readonly number[]
}

export interface Layout {
  /** in order of time */
  readonly shots: readonly PlanShot[]
  /** volumes that found no time, by stock */
  readonly dropped: ReadonlyMap<string, number>
}

interface Placed extends PlanShot {
  readonly endMs: number
  readonly dosable: Dosable
}

/** Calcium before phosphate, single salts where they fit, acid and base when the solution is otherwise at rest. */
const ORDER: readonly StockKind[] = ['calcium', 'phosphate-sulfate', 'neutral', 'acid', 'base']
const ACID_FIRST: readonly StockKind[] = ['acid', 'calcium', 'phosphate-sulfate', 'neutral', 'base']

/** Every shot at the earliest moment that keeps all waits; one that would end after the interval is dropped. */
export function layShots(question: LayoutQuestion): Layout {
  const order = question.acidFirst ? ACID_FIRST : ORDER
  const rank = (batch: ShotBatch) => order.indexOf(batch.dosable.settings.kind)
  const placed: Placed[] = []
  const dropped = new Map<string, number>()
  for (const batch of [...question.batches].sort((a, b) => rank(a) - rank(b))) {
    const stock = batch.dosable.settings.id
    for (const [at, volumeUl] of batch.shotsUl.entries()) {
      const shot = place(question, batch, at, volumeUl, placed)
      if (shot.endMs <= question.untilMs) placed.push(shot)
      else dropped.set(stock, (dropped.get(stock) ?? 0) + volumeUl)
    }
  }
  placed.sort((a, b) => a.notBeforeMs - b.notBeforeMs)
  const shots = placed.map(({ stock, volumeUl, notBeforeMs }) => ({ stock, volumeUl, notBeforeMs }))
  return { shots, dropped }
}

/** The earliest start from the wished one on; each shot in the way moves it behind that shot. */
function place(
  question: LayoutQuestion,
  batch: ShotBatch,
  at: number,
  volumeUl: number,
  placed: readonly Placed[],
): Placed {
  const { dosable } = batch
  const runMs = Math.ceil((volumeUl / dosable.settings.rateUlPerS) * 1000)
  let startMs = Math.max(wishedMs(question, batch, at), dosable.headroom.notBeforeMs)
  for (;;) {
    const inTheWay = placed.find((other) => {
      const waitMs = waitBetween(question.waits, dosable, other.dosable)
      return startMs < other.endMs + waitMs && other.notBeforeMs < startMs + runMs + waitMs
    })
    if (inTheWay === undefined) break
    startMs = inTheWay.endMs + waitBetween(question.waits, dosable, inTheWay.dosable)
  }
  return {
    stock: dosable.settings.id,
    volumeUl,
    notBeforeMs: Math.ceil(startMs),
    endMs: Math.ceil(startMs) + runMs,
    dosable,
  }
}

/** Acid and base follow the make-up water, so their shots are spread; anything else goes as soon as it may. */
function wishedMs(question: LayoutQuestion, batch: ShotBatch, at: number): number {
  if (!isStrong(batch.dosable)) return question.atMs
  const evenMs = (question.untilMs - question.atMs) / batch.shotsUl.length
  return question.atMs + at * Math.max(evenMs, 0)
}

function waitBetween(waits: PlanWaits, dosable: Dosable, other: Dosable): number {
  if (dosable.settings.id === other.settings.id) return dosable.gapMs
  const apartMs = Math.max(
    waits.apartMs(dosable.settings.id, other.settings.id),
    waits.apartMs(other.settings.id, dosable.settings.id),
  )
  // two shots that are to be seen would blur each other; each one’s own gap is the time in which it is measured
  const seenMs = dosable.shows && other.shows ? Math.max(dosable.gapMs, other.gapMs) : 0
  return Math.max(apartMs, seenMs, isStrong(dosable) && isStrong(other) ? waits.mixingMs : 0)
}

function isStrong(dosable: Dosable): boolean {
  return dosable.settings.kind === 'acid' || dosable.settings.kind === 'base'
}
