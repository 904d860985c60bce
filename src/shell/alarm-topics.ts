/** The retained topics of alarms: `state/alarm/<alarm>`, empty when normal, and `state/alarms`, the summary. */

import type { AlarmBoard } from '../core/alarm/alarm-board.ts'
import { alarmViews } from './alarm-view.ts'
import { alarmState, alarmSummary } from './notice-message.ts'

/** Publishes what has changed since it was last asked. */
export function createAlarmTopics(publish: (suffix: string, json: string) => void): (board: AlarmBoard) => void {
  const shown = new Map<string, string>()
  const show = (suffix: string, json: string): void => {
    if (shown.get(suffix) === json) return
    shown.set(suffix, json)
    publish(suffix, json)
  }
  return (board) => {
    const views = new Map(alarmViews(board).map((view) => [view.alarm, view]))
    for (const alarm of new Set([...Object.keys(board), ...views.keys()])) {
      const view = views.get(alarm)
      show(`alarm/${alarm}`, view ? JSON.stringify(alarmState(view)) : '')
    }
    show('alarms', JSON.stringify(alarmSummary([...views.values()])))
  }
}
