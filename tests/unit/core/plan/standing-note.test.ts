import { describe, expect, it } from 'vitest'
import type { Plan, PlanNote } from '../../../../src/core/plan/plan.ts'
import { noteChanges, type StandingNote, standingNotes } from '../../../../src/core/plan/standing-note.ts'
import { AT_MS, HOUR_MS } from './plan-fixture.ts'

const sodium = (mgPerL: number): PlanNote => ({
  kind: 'over-high',
  element: 'Na',
  text: `sodium is about ${mgPerL} mg/L`,
  figures: {},
})
const planAt = (hour: number, notes: readonly PlanNote[]): Plan => ({
  id: `plan-${hour}`,
  atMs: AT_MS + hour * HOUR_MS,
  untilMs: AT_MS + (hour + 1) * HOUR_MS,
  doses: [],
  shots: [],
  left: [],
  notes,
})
/** Notes of each hour; what was told in each. */
function live(hours: readonly (readonly PlanNote[])[]) {
  let standing: readonly StandingNote[] = []
  return hours.map((notes, hour) => {
    const before = standing
    standing = standingNotes(before, planAt(hour, notes))
    const { started, ended } = noteChanges(before, standing)
    return { started: started.map(({ text }) => text), ended: ended.map(({ text }) => text) }
  })
}

describe('a note of the plans', () => {
  it('is told once while its cause lasts, however its figures move, and once when it has gone', () => {
    const told = live([[sodium(51)], [sodium(52)], [sodium(53)], [], [], [], []])
    expect(told.map(({ started }) => started.length)).toEqual([1, 0, 0, 0, 0, 0, 0])
    expect(told.flatMap(({ ended }) => ended)).toEqual(['sodium is about 53 mg/L'])
    expect(told[5]!.ended).toHaveLength(1)
  })

  it('stands with its newest figures since the hour it first came', () => {
    const first = standingNotes([], planAt(0, [sodium(51)]))
    const [note] = standingNotes(first, planAt(1, [sodium(52)]))
    expect(note).toMatchObject({ text: 'sodium is about 52 mg/L', sinceMs: AT_MS, seenMs: AT_MS + HOUR_MS })
  })

  it('that comes and goes by the hour is one note', () => {
    const told = live([[sodium(51)], [], [sodium(51)], [], [sodium(51)]])
    expect(told.flatMap(({ started, ended }) => [...started, ...ended])).toHaveLength(1)
  })

  it('about a dose too small or without time is of one hour only and stands nowhere', () => {
    const left: PlanNote = { kind: 'left', text: 'Left for the next plan', figures: {} }
    expect(standingNotes([], planAt(0, [left]))).toEqual([])
  })

  it('of two groups of stocks that different things block, is two', () => {
    const blocked = (text: string): PlanNote => ({ kind: 'blocked', text, figures: {} })
    const told = live([[blocked('a and b: the flow stands still'), blocked('c and d: no limits')]])
    expect(told[0]!.started).toHaveLength(2)
  })
})
