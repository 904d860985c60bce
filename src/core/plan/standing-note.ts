// Notes that last longer than one plan: told once when their cause comes and once when it has gone, not every hour.

import type { Plan, PlanNote, PlanNoteKind } from './plan.ts'

export interface StandingNote {
  /** what the note is about; its figures may change while it stands */
  readonly key: string
  readonly kind: PlanNoteKind
  /** as the newest plan that has it says it */
  readonly text: string
  readonly sinceMs: number
  readonly seenMs: number
}

/** Of one interval and no cause of its own: too small a dose, no time left. The next plan makes up for them. */
const PASSING: ReadonlySet<PlanNoteKind> = new Set(['left', 'no-time'])
/** A cause that comes and goes by the hour is one cause. A judgement. */
const GONE_AFTER_MS = 3 * 3_600_000

/** What stands after a plan: its own notes, and those of earlier plans that have not been away for long. */
export function standingNotes(before: readonly StandingNote[], plan: Plan): readonly StandingNote[] {
  const present = keyed(plan.notes.filter(({ kind }) => !PASSING.has(kind)))
  const now = present.map(([key, { kind, text }]): StandingNote => {
    const sinceMs = before.find((note) => note.key === key)?.sinceMs ?? plan.atMs
    return { key, kind, text, sinceMs, seenMs: plan.atMs }
  })
  const resting = before.filter(
    (note) => plan.atMs - note.seenMs < GONE_AFTER_MS && !now.some(({ key }) => key === note.key),
  )
  return [...now, ...resting]
}

export interface NoteChanges {
  readonly started: readonly StandingNote[]
  readonly ended: readonly StandingNote[]
}

/** What has come and what has gone between two moments. */
export function noteChanges(before: readonly StandingNote[], after: readonly StandingNote[]): NoteChanges {
  const isIn = (notes: readonly StandingNote[], note: StandingNote) => notes.some(({ key }) => key === note.key)
  return {
    started: after.filter((note) => !isIn(before, note)),
    ended: before.filter((note) => !isIn(after, note)),
  }
}

/** By kind, element and stock; two of one key (a block of several stocks) are told apart by their order. */
function keyed(notes: readonly PlanNote[]): [string, PlanNote][] {
  const counts = new Map<string, number>()
  return notes.map((note) => {
    const name = [note.kind, note.element, note.stock].filter((part) => part !== undefined).join(' ')
    const count = (counts.get(name) ?? 0) + 1
    counts.set(name, count)
    return [count === 1 ? name : `${name} ${count}`, note]
  })
}
