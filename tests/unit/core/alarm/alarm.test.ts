import { describe, expect, it } from 'vitest'
import { type AlarmBoard, acknowledgeAlarm, watchAlarms } from '../../../../src/core/alarm/alarm.ts'
import { ALARMS } from '../../../../src/core/alarm/alarm-definition.ts'
import type { AlarmFacts } from '../../../../src/core/alarm/alarm-facts.ts'

const MINUTE_MS = 60_000
const WELL: Omit<AlarmFacts, 'atMs'> = {
  scanSilentMs: 0,
  nodeSilentMs: 0,
  flowLPerMin: 8,
  flowMinLPerMin: 4,
  temperatureC: 20,
  levelL: 208,
  levelMinL: 130,
  levelMaxL: 255,
  ph: 5.9,
  phMin: 4.8,
  phMax: 7.2,
  trips: [],
  isDiskWritable: true,
}

/** A board watched once a minute; what changed is kept as "minute alarm condition". */
function watched() {
  let board: AlarmBoard = {}
  let minute = 0
  const told: string[] = []
  const take = (result: { board: AlarmBoard; changes: readonly { alarm: string; condition: string }[] }): void => {
    board = result.board
    for (const { alarm, condition } of result.changes) told.push(`${minute} ${alarm} ${condition}`)
  }
  return {
    told,
    board: () => board,
    minutes(count: number, facts: Partial<AlarmFacts> = {}): void {
      for (let at = 0; at < count; at++, minute++)
        take(watchAlarms(board, { ...WELL, ...facts, atMs: minute * MINUTE_MS }))
    },
    acknowledge: (alarm: string) => take(acknowledgeAlarm(board, alarm)),
  }
}

describe('an alarm', () => {
  it('is raised only after its cause has held for its delay', () => {
    const bench = watched()
    bench.minutes(2, { flowLPerMin: 0 })
    bench.minutes(1)
    expect(bench.told).toEqual([])
    bench.minutes(3, { flowLPerMin: 0 })
    expect(bench.told).toEqual(['5 no-flow unacknowledged'])
  })

  it('whose cause goes before anybody saw it waits as returned, and is normal once seen', () => {
    const bench = watched()
    bench.minutes(4, { flowLPerMin: 0 })
    bench.minutes(1)
    bench.acknowledge('no-flow')
    expect(bench.told).toEqual(['2 no-flow unacknowledged', '4 no-flow returned', '5 no-flow normal'])
  })

  it('that was seen stays acknowledged while its cause stands, and is normal when it goes', () => {
    const bench = watched()
    bench.minutes(4, { flowLPerMin: 0 })
    bench.acknowledge('no-flow')
    bench.minutes(5, { flowLPerMin: 0 })
    bench.minutes(1)
    expect(bench.told.slice(1)).toEqual(['4 no-flow acknowledged', '9 no-flow normal'])
  })

  it('that returned unseen is raised again when its cause comes back', () => {
    const bench = watched()
    bench.minutes(3, { flowLPerMin: 0 })
    bench.minutes(1)
    bench.minutes(3, { flowLPerMin: 0 })
    expect(bench.told.slice(1)).toEqual(['3 no-flow returned', '6 no-flow unacknowledged'])
  })

  it('does not flicker about its limit: it needs more to clear than to be raised', () => {
    const bench = watched()
    bench.minutes(31, { temperatureC: 27.2 })
    for (let at = 0; at < 10; at++) {
      bench.minutes(1, { temperatureC: 26.8 })
      bench.minutes(1, { temperatureC: 27.1 })
    }
    expect(bench.told).toEqual(['30 water-warm unacknowledged'])
    bench.minutes(1, { temperatureC: 25.9 })
    expect(bench.told.at(-1)).toBe('51 water-warm returned')
  })

  it('is told once, however long its cause stands', () => {
    const bench = watched()
    bench.minutes(600, { isDiskWritable: false })
    expect(bench.told).toEqual(['0 disk-not-writable unacknowledged'])
  })

  it('that nobody knows, or that is normal, cannot be acknowledged', () => {
    const bench = watched()
    bench.minutes(1)
    bench.acknowledge('no-such-alarm')
    bench.acknowledge('no-flow')
    expect(bench.told).toEqual([])
  })
})

describe('one cause', () => {
  const dead = { nodeSilentMs: 60 * MINUTE_MS, scanSilentMs: 60 * MINUTE_MS }

  it('is one alarm: a dead node explains its silent probes, seen or not', () => {
    const bench = watched()
    bench.minutes(30, dead)
    bench.acknowledge('node-silent')
    bench.minutes(30, dead)
    expect(bench.told).toEqual(['3 node-silent unacknowledged', '30 node-silent acknowledged'])
  })

  it('that goes raises nothing while the probes of a node that is back have their first minutes', () => {
    const bench = watched()
    bench.minutes(10, dead)
    bench.minutes(2, { ...dead, nodeSilentMs: 0 })
    bench.minutes(10)
    expect(bench.told.slice(1)).toEqual(['10 node-silent returned'])
  })

  it('that goes leaves what it explained to speak for itself, after its own delay', () => {
    const bench = watched()
    bench.minutes(10, dead)
    bench.minutes(7, { ...dead, nodeSilentMs: 0 })
    expect(bench.told.slice(1)).toEqual(['10 node-silent returned', '15 readings-silent unacknowledged'])
  })
})

describe('every alarm', () => {
  const causes: Record<string, Partial<AlarmFacts>> = {
    'no-flow': { flowLPerMin: 3.9 },
    'node-silent': { nodeSilentMs: 2 * MINUTE_MS + 1 },
    'readings-silent': { scanSilentMs: 5 * MINUTE_MS + 1 },
    'level-low': { levelL: 129 },
    'level-high': { levelL: 256 },
    'water-warm': { temperatureC: 27.1 },
    'ph-outside': { ph: 7.3 },
    tripped: { trips: ['pump-overran'] },
    'disk-not-writable': { isDiskWritable: false },
  }

  it.each(ALARMS.map((alarm) => [alarm.id, alarm] as const))(
    '%s comes from its own cause, after its delay, and says what to do by when',
    (id, alarm) => {
      const cause = causes[id]
      if (!cause) throw new Error(`no cause is written down for ${id}`)
      const bench = watched()
      bench.minutes(alarm.onDelayMs / MINUTE_MS + 1, cause)
      expect(bench.told).toEqual([`${alarm.onDelayMs / MINUTE_MS} ${id} unacknowledged`])
      expect(alarm.text).toMatch(/now|hour|today|days|until/)
    },
  )

  it('stays quiet where nothing is known: an absent sensor raises nothing', () => {
    const bench = watched()
    const { flowLPerMin: _flow, temperatureC: _warm, levelL: _level, ph: _ph, ...blind } = WELL
    for (let at = 0; at < 60; at++) expect(watchAlarms({}, { ...blind, atMs: at * MINUTE_MS }).changes).toEqual([])
    expect(bench.told).toEqual([])
  })

  it('stays quiet while all is well, and the board is the very same object', () => {
    const board: AlarmBoard = {}
    expect(watchAlarms(board, { ...WELL, atMs: 0 }).board).toBe(board)
  })
})
