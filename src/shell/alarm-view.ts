/** The board of alarms as people and machines outside see it. */

import { type AlarmBoard, consequencesOf } from '../core/alarm/alarm-board.ts'
import { ALARMS, alarmText, definitionOf } from '../core/alarm/alarm-definition.ts'
import type { AlarmView } from './daemon-view.ts'

/** From the board itself, so that an alarm which stood before a restart is shown after it; plant life first. */
export function alarmViews(board: AlarmBoard): AlarmView[] {
  const order = new Map(ALARMS.map(({ id }, at) => [id, at]))
  const place = (name: string): number => order.get(name.split(':', 1)[0]!) ?? ALARMS.length
  return Object.keys(board)
    .flatMap((alarm) => alarmView(board, alarm) ?? [])
    .sort((a, b) => place(a.alarm) - place(b.alarm) || (a.alarm < b.alarm ? -1 : 1))
}

/** One alarm; undefined where it is normal, unknown, or listed under its cause. */
export function alarmView(board: AlarmBoard, alarm: string): AlarmView | undefined {
  const definition = definitionOf(alarm)
  const standing = board[alarm]
  if (!definition || !standing || standing.condition === 'normal' || standing.condition === 'suppressed')
    return undefined
  const { condition, detail, raisedAtMs, by, untilMs } = standing
  const { priority, cause, consequence, action, respondWithin } = definition
  return {
    ...{ alarm, state: condition, priority, text: alarmText(definition, detail) },
    cause: detail === '' ? cause : `${cause} (${detail})`,
    ...{ consequence, action, respondWithin },
    ...(raisedAtMs === null ? {} : { raisedAtMs }),
    ...(by === undefined ? {} : { by }),
    ...(untilMs === undefined ? {} : { untilMs }),
    consequences: consequencesOf(board, alarm),
  }
}
