/** Alarm states as in ISA-18.2: raised after a delay, acknowledged by a person, returned when the cause is gone. */

import { ALARMS, type AlarmDefinition, type AlarmPriority } from './alarm-definition.ts'
import type { AlarmFacts } from './alarm-facts.ts'

export type AlarmCondition = 'normal' | 'unacknowledged' | 'acknowledged' | 'returned'

export interface AlarmStanding {
  readonly condition: AlarmCondition
  /** since when the cause holds; null while it does not */
  readonly holdsSinceMs: number | null
}

/** By alarm id; an alarm that is not in here is normal. */
export type AlarmBoard = Readonly<Record<string, AlarmStanding>>

export interface AlarmChange {
  readonly alarm: string
  readonly condition: AlarmCondition
  readonly priority: AlarmPriority
  readonly text: string
}

const NORMAL: AlarmStanding = { condition: 'normal', holdsSinceMs: null }

/** The board after a look at the facts, with what changed; the very same board when nothing did. */
export function watchAlarms(
  board: AlarmBoard,
  facts: AlarmFacts,
): { readonly board: AlarmBoard; readonly changes: readonly AlarmChange[] } {
  let next = board
  const changes: AlarmChange[] = []
  for (const definition of ALARMS) {
    const before = board[definition.id] ?? NORMAL
    const after = look(definition, before, facts, next)
    if (after === before) continue
    next = { ...next, [definition.id]: after }
    if (after.condition !== before.condition) changes.push(changeOf(definition, after.condition))
  }
  return { board: next, changes }
}

function look(definition: AlarmDefinition, before: AlarmStanding, facts: AlarmFacts, board: AlarmBoard): AlarmStanding {
  const stands = isStanding(before)
  // What is explained waits for its own delay once the explanation is gone: probes need a moment after their node is back.
  if (!definition.holds(facts, stands) || (!stands && isExplained(definition.id, board))) return cleared(before)
  const holdsSinceMs = before.holdsSinceMs ?? facts.atMs
  const isDue = facts.atMs - holdsSinceMs >= definition.onDelayMs
  const condition = stands || !isDue ? before.condition : 'unacknowledged'
  return condition === before.condition && holdsSinceMs === before.holdsSinceMs ? before : { condition, holdsSinceMs }
}

function cleared(before: AlarmStanding): AlarmStanding {
  if (before.condition === 'unacknowledged') return { condition: 'returned', holdsSinceMs: null }
  if (before.condition === 'acknowledged') return NORMAL
  return before.holdsSinceMs === null ? before : { ...before, holdsSinceMs: null }
}

/** Whether a standing alarm, seen or not, already says what is behind this one. */
function isExplained(id: string, board: AlarmBoard): boolean {
  return ALARMS.some((other) => other.explains.includes(id) && isStanding(board[other.id] ?? NORMAL))
}

function isStanding({ condition }: AlarmStanding): boolean {
  return condition === 'unacknowledged' || condition === 'acknowledged'
}

/** A person has seen it. One whose cause is gone becomes normal; one that stands stays, seen. */
export function acknowledgeAlarm(
  board: AlarmBoard,
  alarm: string,
): { readonly board: AlarmBoard; readonly changes: readonly AlarmChange[] } {
  const definition = ALARMS.find((candidate) => candidate.id === alarm)
  const before = board[alarm]
  if (!definition || !before) return { board, changes: [] }
  const condition =
    before.condition === 'unacknowledged'
      ? 'acknowledged'
      : before.condition === 'returned'
        ? 'normal'
        : before.condition
  if (condition === before.condition) return { board, changes: [] }
  return { board: { ...board, [alarm]: { ...before, condition } }, changes: [changeOf(definition, condition)] }
}

function changeOf(definition: AlarmDefinition, condition: AlarmCondition): AlarmChange {
  return { alarm: definition.id, condition, priority: definition.priority, text: definition.text }
}
