/** A board of alarms watched once a minute, where all is well unless a test says otherwise. */

import { watchAlarms } from '../../../../src/core/alarm/alarm.ts'
import type { AlarmBoard, BoardChange } from '../../../../src/core/alarm/alarm-board.ts'
import type { AlarmFacts } from '../../../../src/core/alarm/alarm-facts.ts'
import type { AlarmSettings } from '../../../../src/core/alarm/alarm-settings.ts'
import { acknowledgeAlarm, shelveAlarm, unshelveAlarm } from '../../../../src/core/alarm/persons-word.ts'

export const MINUTE_MS = 60_000
export const HOUR_MS = 60 * MINUTE_MS
export const DAY_MS = 24 * HOUR_MS

export const SETTINGS: AlarmSettings = {
  flowDelayMs: 2 * MINUTE_MS,
  nodeSilentMs: 2 * MINUTE_MS,
  probeSilentMs: 5 * MINUTE_MS,
  levelDelayMs: 5 * MINUTE_MS,
  waterWarmC: 27,
  waterColdC: 10,
  waterDelayMs: 30 * MINUTE_MS,
  waterLossMaxLPerH: 5,
  rangeDelayMs: 30 * MINUTE_MS,
  conductivityDriftShare: 0.15,
  phDrift: 0.4,
  doubtDelayMs: 2 * HOUR_MS,
  refusedCount: 5,
  runsOutMs: DAY_MS,
  stockLeftShare: 0.1,
  stockLeftDays: 2,
  sampleDueMs: 21 * DAY_MS,
  sampleOverdueMs: 35 * DAY_MS,
  unmeetableDelayMs: 2 * DAY_MS,
  escalation: { people: [], nextAfterMs: 15 * MINUTE_MS, repeatMs: HOUR_MS },
}

export const WELL: Omit<AlarmFacts, 'atMs'> = {
  isLinkUp: true,
  isDiskWritable: true,
  isClockSane: true,
  nodes: [{ node: 'bench', silentMs: 0 }],
  scanSilentMs: 0,
  probes: [{ probe: 'ec-1', node: 'bench', role: 'conductivity', silentMs: 0, isStuck: false }],
  wet: [],
  flowLPerMin: 8,
  flowMinLPerMin: 4,
  temperatureC: 20,
  levelL: 208,
  levelMinL: 130,
  levelMaxL: 255,
  waterLossLPerH: 1.5,
  waterLossMaxLPerH: 5,
  conductivityDsPerM: 1.7,
  conductivityMinDsPerM: 0.5,
  conductivityMaxDsPerM: 2.8,
  ph: 5.9,
  phMin: 4.8,
  phMax: 7.2,
  doubts: [],
  walked: [],
  trips: [],
  refused: { count: 0, why: '' },
  stocks: [{ stock: 'acid', leftMl: 900, leftShare: 0.9, leftDays: 40 }],
  sample: { ageMs: DAY_MS, day: '2026-03-17', isFirstFill: false },
  unmeetable: [],
}

/** What changed is kept as "minute alarm condition". */
export function watched() {
  let board: AlarmBoard = {}
  let minute = 0
  const told: string[] = []
  const take = (result: BoardChange): void => {
    board = result.board
    for (const { alarm, after } of result.changes)
      told.push(`${minute} ${alarm} ${after.condition}${after.under ? ` under ${after.under}` : ''}`)
  }
  return {
    told,
    board: () => board,
    nowMs: () => minute * MINUTE_MS,
    minutes(count: number, facts: Partial<AlarmFacts> = {}): void {
      for (let at = 0; at < count; at++, minute++)
        take(watchAlarms(SETTINGS, board, { ...WELL, ...facts, atMs: minute * MINUTE_MS }))
    },
    acknowledge: (alarm: string) => take(acknowledgeAlarm(board, alarm, 'Ines')),
    shelve: (alarm: string, forMs: number) =>
      take(shelveAlarm(board, { alarm, untilMs: minute * MINUTE_MS + forMs, by: 'Ines', atMs: minute * MINUTE_MS })),
    unshelve: (alarm: string) => take(unshelveAlarm(board, alarm)),
  }
}

/** A node that has been silent for an hour, and all that hangs on it. */
export const DEAD_NODE: Partial<AlarmFacts> = {
  nodes: [{ node: 'bench', silentMs: HOUR_MS }],
  scanSilentMs: HOUR_MS,
  probes: [{ probe: 'ec-1', node: 'bench', role: 'conductivity', silentMs: HOUR_MS, isStuck: false }],
}
