/** Changes of alarms as records and effects, notices to people, and the board as its records leave it. */

import { watchAlarms } from '../core/alarm/alarm.ts'
import { type AlarmBoard, type AlarmChange, type BoardChange, NORMAL } from '../core/alarm/alarm-board.ts'
import { alarmText } from '../core/alarm/alarm-definition.ts'
import { dueNotices, type Notice, noticeOfChange } from '../core/alarm/escalation.ts'
import { alarmFacts } from './alarm-facts.ts'
import type { Effect } from './effect.ts'
import type { LedgerRecord } from './record.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** Looks at the alarms, tells what changed and whom it concerns. */
export function lookAtAlarms(settings: ReservoirSettings, state: ReservoirState, effects: Effect[]): ReservoirState {
  const watched = watchAlarms(settings.alarms, state.alarms, alarmFacts(settings, state))
  const told = tellChanges(settings, { ...state, alarms: watched.board }, watched, effects)
  const due = dueNotices(settings.alarms.escalation, told.alarms, state.atMs)
  for (const notice of due.notices) {
    const { alarm, to } = notice
    effects.push({
      kind: 'record',
      record: { kind: 'notified', atMs: state.atMs, alarm, told: due.board[alarm]!.told, to },
    })
    effects.push(noticeEffect(notice))
  }
  return due.board === state.alarms ? state : { ...told, alarms: due.board }
}

/** The state with a board that a person or the facts have changed; each change recorded, told, and a notice where due. */
export function tellChanges(
  settings: ReservoirSettings,
  state: ReservoirState,
  changed: BoardChange,
  effects: Effect[],
): ReservoirState {
  for (const change of changed.changes) {
    effects.push({ kind: 'record', record: alarmRecord(change, state.atMs) }, alarmEffect(change))
    const notice = noticeOfChange(settings.alarms.escalation, changed.board, change, state.atMs)
    if (notice) effects.push(noticeEffect(notice))
  }
  return { ...state, alarms: changed.board }
}

export function noticeEffect(notice: Notice): Effect {
  const text = `To ${notice.to.join(' and ')}: ${notice.alarm} ${notice.kind}`
  return { kind: 'notification', event: 'notice', text, notice }
}

function alarmEffect({ alarm, definition, after }: AlarmChange): Effect {
  const { under, untilMs, by } = after
  return {
    kind: 'alarm',
    alarm,
    state: after.condition,
    priority: definition.priority,
    text: alarmText(definition, after.detail),
    ...(under === undefined ? {} : { under }),
    ...(untilMs === undefined ? {} : { untilMs }),
    ...(by === undefined ? {} : { by }),
  }
}

type AlarmRecord = Extract<LedgerRecord, { kind: 'alarm' }>

function alarmRecord({ alarm, definition, after }: AlarmChange, atMs: number): AlarmRecord {
  const { condition, detail, under, untilMs, by, raisedAtMs, told, holdsSinceMs } = after
  return {
    ...{ kind: 'alarm', atMs, alarm, state: condition, text: alarmText(definition, detail) },
    ...(detail === '' ? {} : { detail }),
    ...(under === undefined ? {} : { under }),
    ...(untilMs === undefined ? {} : { untilMs }),
    ...(by === undefined ? {} : { by }),
    ...(raisedAtMs === null ? {} : { raisedAtMs }),
    ...(told === 0 ? {} : { told }),
    isHolding: holdsSinceMs !== null,
  }
}

/** The board after a record of it is read back; records of before there were these fields say the state alone. */
export function withAlarmRecord(board: AlarmBoard, record: AlarmRecord): AlarmBoard {
  const { alarm, state: condition, atMs, detail, under, untilMs, by, raisedAtMs, told, isHolding } = record
  const holds = isHolding ?? (condition === 'unacknowledged' || condition === 'acknowledged')
  return {
    ...board,
    [alarm]: {
      ...NORMAL,
      condition,
      holdsSinceMs: holds ? atMs : null,
      raisedAtMs: raisedAtMs ?? null,
      ...(detail === undefined ? {} : { detail }),
      ...(under === undefined ? {} : { under }),
      ...(untilMs === undefined ? {} : { untilMs }),
      ...(by === undefined ? {} : { by }),
      told: told ?? 0,
      toldAtMs: board[alarm]?.toldAtMs ?? null,
    },
  }
}

/** The board after a notice that went out before the restart. */
export function withNotified(board: AlarmBoard, record: Extract<LedgerRecord, { kind: 'notified' }>): AlarmBoard {
  const { alarm, told, atMs } = record
  const standing = board[alarm]
  return standing ? { ...board, [alarm]: { ...standing, told, toldAtMs: atMs } } : board
}
