import { describe, expect, it } from 'vitest'
import { NORMAL } from '../../../src/core/alarm/alarm-board.ts'
import { createAlarmTopics } from '../../../src/shell/alarm-topics.ts'
import { alarmStateSchema, alarmSummarySchema } from '../../../src/shell/notice-message.ts'

describe('the topics of alarms', () => {
  it('show what stands with what follows from it, and are emptied when it is normal', () => {
    const published: (readonly [string, string])[] = []
    const show = createAlarmTopics((suffix, json) => published.push([suffix, json]))
    const grouped = { ...NORMAL, condition: 'suppressed' as const, under: 'no-flow', holdsSinceMs: 0 }
    const raised = { ...NORMAL, condition: 'unacknowledged' as const, raisedAtMs: 0, holdsSinceMs: 0 }
    show({ 'no-flow': raised, 'level-high': grouped })
    const state = alarmStateSchema.parse(JSON.parse(published[0]![1]))
    expect(published[0]![0]).toBe('alarm/no-flow')
    expect(state).toMatchObject({
      state: 'unacknowledged',
      consequences: ['level-high'],
      raisedAt: '1970-01-01T00:00:00.000Z',
    })
    const summary = published.find(([suffix]) => suffix === 'alarms')!
    expect(alarmSummarySchema.parse(JSON.parse(summary[1]))).toEqual({
      ...{ urgent: 1, high: 0, low: 0, unacknowledged: 1, first: 'no-flow' },
    })
    published.length = 0
    show({ 'no-flow': NORMAL, 'level-high': NORMAL })
    expect(published).toContainEqual(['alarm/no-flow', ''])
  })

  it('are not sent again while nothing changes', () => {
    let count = 0
    const show = createAlarmTopics(() => count++)
    const board = { 'no-flow': { ...NORMAL, condition: 'unacknowledged' as const, raisedAtMs: 0 } }
    show(board)
    const first = count
    show(board)
    expect(count).toBe(first)
  })
})
