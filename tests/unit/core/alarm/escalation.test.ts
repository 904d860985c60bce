import { describe, expect, it } from 'vitest'
import { watchAlarms } from '../../../../src/core/alarm/alarm.ts'
import type { AlarmBoard } from '../../../../src/core/alarm/alarm-board.ts'
import type { AlarmFacts } from '../../../../src/core/alarm/alarm-facts.ts'
import { dueNotices, type Notice, noticeOfChange, noticesAgain } from '../../../../src/core/alarm/escalation.ts'
import { acknowledgeAlarm } from '../../../../src/core/alarm/persons-word.ts'
import { HOUR_MS, MINUTE_MS, SETTINGS, WELL } from './alarm-bench.ts'

const ESCALATION = { people: ['Ines', 'Tomas'], nextAfterMs: 15 * MINUTE_MS, repeatMs: HOUR_MS }

/** Minutes pass as in a daemon; notices are kept as "minute kind to". */
function house(people = ESCALATION.people) {
  const escalation = { ...ESCALATION, people }
  let board: AlarmBoard = {}
  let minute = 0
  const told: string[] = []
  const notices: Notice[] = []
  const take = (made: readonly Notice[]): void => {
    for (const notice of made) {
      notices.push(notice)
      told.push(`${minute} ${notice.alarm} ${notice.kind} to ${notice.to.join('+')}`)
    }
  }
  const changed = (change: ReturnType<typeof watchAlarms>): void => {
    board = change.board
    take(change.changes.flatMap((one) => noticeOfChange(escalation, board, one, minute * MINUTE_MS) ?? []))
  }
  return {
    told,
    notices,
    again: () => noticesAgain(escalation, board, minute * MINUTE_MS),
    minutes(count: number, facts: Partial<AlarmFacts> = {}): void {
      for (let at = 0; at < count; at++, minute++) {
        changed(watchAlarms(SETTINGS, board, { ...WELL, ...facts, atMs: minute * MINUTE_MS }))
        const due = dueNotices(escalation, board, minute * MINUTE_MS)
        board = due.board
        take(due.notices)
      }
    },
    acknowledge: (alarm: string) => changed(acknowledgeAlarm(board, alarm, 'Ines')),
  }
}

describe('people', () => {
  it('are told one after the other while nobody has seen the alarm, then all of them every hour', () => {
    const on = house()
    on.minutes(150, { flowLPerMin: 0 })
    expect(on.told).toEqual([
      '2 no-flow raised to Ines',
      '17 no-flow escalated to Ines+Tomas',
      '77 no-flow repeated to Ines+Tomas',
      '137 no-flow repeated to Ines+Tomas',
    ])
  })

  it('are left alone once somebody has seen it, and told that it is over', () => {
    const on = house()
    on.minutes(20, { flowLPerMin: 0 })
    on.acknowledge('no-flow')
    on.minutes(200, { flowLPerMin: 0 })
    on.minutes(1)
    expect(on.told.slice(2)).toEqual(['20 no-flow acknowledged to Ines+Tomas', '220 no-flow over to Ines+Tomas'])
  })

  it('are told once of what can wait for the week, and nobody else is woken', () => {
    const on = house()
    on.minutes(300, { stocks: [{ stock: 'acid', leftMl: 50, leftShare: 0.05 }] })
    expect(on.told).toEqual(['0 stock-low:acid raised to Ines'])
  })

  it('are told one message for a cause, with what follows from it', () => {
    const on = house()
    on.minutes(30, { nodes: [{ node: 'bench', silentMs: HOUR_MS }], scanSilentMs: HOUR_MS })
    expect(on.notices.at(-1)).toMatchObject({
      kind: 'escalated',
      alarm: 'node-silent:bench',
      priority: 'urgent',
      consequences: ['readings-silent'],
      cause: 'A pump node is silent (bench)',
    })
    expect(new Set(on.notices.map(({ alarm }) => alarm))).toEqual(new Set(['node-silent:bench']))
  })

  it('get each message under an id of its own, and the last one again after a restart under the same id', () => {
    const on = house()
    on.minutes(20, { flowLPerMin: 0 })
    expect(on.notices.map(({ id }) => id)).toEqual(['no-flow@120000#1', 'no-flow@120000#2'])
    expect(on.again().map(({ id }) => id)).toEqual(['no-flow@120000#2'])
    on.acknowledge('no-flow')
    expect(on.again()).toEqual([])
  })

  it('who are named nowhere are told nothing', () => {
    const on = house([])
    on.minutes(100, { flowLPerMin: 0 })
    expect(on.told).toEqual([])
  })
})
