/** How each alarm stands, in the states of ISA-18.2 (ANSI/ISA-18.2-2016, figure of the alarm states). */

import { type AlarmDefinition, definitionOf } from './alarm-definition.ts'

/**
 * - `unacknowledged`, `acknowledged`: the cause holds; nobody, or somebody, has seen it
 * - `returned`: the cause is gone before anybody saw it
 * - `latched`: the cause is gone, and a person must look all the same
 * - `shelved`: a person put it aside until a time
 * - `suppressed`: by design, a consequence of another alarm under which it is listed
 */
export type AlarmCondition =
  | 'normal'
  | 'unacknowledged'
  | 'acknowledged'
  | 'returned'
  | 'latched'
  | 'shelved'
  | 'suppressed'

export interface AlarmStanding {
  readonly condition: AlarmCondition
  /** since when the cause holds; null while it does not */
  readonly holdsSinceMs: number | null
  /** since when the cause of a standing alarm is gone; null while it holds */
  readonly clearSinceMs: number | null
  /** when it was last raised; null before it was */
  readonly raisedAtMs: number | null
  /** the figures of when it was raised */
  readonly detail: string
  /** who acknowledged or shelved it */
  readonly by?: string
  /** the end of its shelving */
  readonly untilMs?: number
  /** the alarm whose consequence it is */
  readonly under?: string
  /** how many times people were told of it since it was raised, and when last */
  readonly told: number
  readonly toldAtMs: number | null
}

/** By alarm name; an alarm that is not in here is normal. */
export type AlarmBoard = Readonly<Record<string, AlarmStanding>>

export const NORMAL: AlarmStanding = {
  condition: 'normal',
  holdsSinceMs: null,
  clearSinceMs: null,
  raisedAtMs: null,
  detail: '',
  told: 0,
  toldAtMs: null,
}

/** A change of an alarm’s state, with what must outlive a restart. */
export interface AlarmChange {
  readonly alarm: string
  readonly definition: AlarmDefinition
  readonly before: AlarmStanding
  readonly after: AlarmStanding
}

export interface BoardChange {
  readonly board: AlarmBoard
  readonly changes: readonly AlarmChange[]
}

/** The board with one alarm changed, and the change where its state became another. */
export function withStanding(change: BoardChange, alarm: string, after: AlarmStanding): BoardChange {
  const definition = definitionOf(alarm)
  if (!definition) throw new Error(`there is no alarm ${alarm}`)
  const before = change.board[alarm] ?? NORMAL
  const board = { ...change.board, [alarm]: after }
  if (before.condition === after.condition && before.untilMs === after.untilMs) return { ...change, board }
  return { board, changes: [...change.changes, { alarm, definition, before, after }] }
}

/** Whether it stands for its cause now: whoever looks finds something to do. */
export function isStanding({ condition }: AlarmStanding): boolean {
  return condition === 'unacknowledged' || condition === 'acknowledged'
}

/** Whether its cause is at work, seen, put aside or grouped: so it explains its consequences. */
export function isAtWork(standing: AlarmStanding): boolean {
  const { condition, holdsSinceMs } = standing
  return isStanding(standing) || ((condition === 'shelved' || condition === 'suppressed') && holdsSinceMs !== null)
}

/** The consequences that are listed under an alarm. */
export function consequencesOf(board: AlarmBoard, alarm: string): readonly string[] {
  return Object.keys(board).filter((name) => board[name]!.condition === 'suppressed' && board[name]!.under === alarm)
}
