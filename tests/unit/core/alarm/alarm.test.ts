import { describe, expect, it } from 'vitest'
import { watchAlarms } from '../../../../src/core/alarm/alarm.ts'
import type { AlarmBoard } from '../../../../src/core/alarm/alarm-board.ts'
import { ALARMS } from '../../../../src/core/alarm/alarm-definition.ts'
import type { AlarmFacts } from '../../../../src/core/alarm/alarm-facts.ts'
import { DAY_MS, DEAD_NODE, HOUR_MS, MINUTE_MS, SETTINGS, WELL, watched } from './alarm-bench.ts'

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

  it('that was seen stays acknowledged while its cause stands, with who saw it, and is normal when it goes', () => {
    const bench = watched()
    bench.minutes(4, { flowLPerMin: 0 })
    bench.acknowledge('no-flow')
    expect(bench.board()['no-flow']).toMatchObject({ condition: 'acknowledged', by: 'Ines' })
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

  it('of a leak latches: it stays until somebody has looked after the floor is dry, seen before or not', () => {
    const bench = watched()
    bench.minutes(1, { wet: ['leak-1'] })
    bench.acknowledge('leak:leak-1')
    bench.minutes(6)
    bench.acknowledge('leak:leak-1')
    expect(bench.told).toEqual([
      '0 leak:leak-1 unacknowledged',
      '1 leak:leak-1 acknowledged',
      '6 leak:leak-1 latched',
      '7 leak:leak-1 normal',
    ])
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

  it('of a node whose network stutters is one alarm: it must be heard for a minute before it is over', () => {
    const bench = watched()
    bench.minutes(5, DEAD_NODE)
    for (let at = 0; at < 5; at++) {
      bench.minutes(1)
      bench.minutes(3, DEAD_NODE)
    }
    expect(bench.told.filter((line) => / node-silent:bench /.test(line))).toEqual([
      '1 node-silent:bench unacknowledged',
    ])
  })

  it('does not end because its probe falls silent', () => {
    const bench = watched()
    bench.minutes(3, { flowLPerMin: 0 })
    const { flowLPerMin: _gone, ...silent } = WELL
    const { board } = watchAlarms(SETTINGS, bench.board(), { ...silent, atMs: 10 * MINUTE_MS })
    expect(board['no-flow']?.condition).toBe('unacknowledged')
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

  it('of a second node is raised although that of the first was seen', () => {
    const bench = watched()
    const nodes = (a: number, b: number) => ({
      nodes: [
        { node: 'a', silentMs: a },
        { node: 'b', silentMs: b },
        { node: 'c', silentMs: 0 },
      ],
    })
    bench.minutes(3, nodes(HOUR_MS, 0))
    bench.acknowledge('node-silent:a')
    bench.minutes(3, nodes(HOUR_MS, HOUR_MS))
    expect(bench.told).toEqual([
      '1 node-silent:a unacknowledged',
      '3 node-silent:a acknowledged',
      '4 node-silent:b unacknowledged',
    ])
  })
})

describe('one cause', () => {
  const raisedIn = (told: readonly string[]) => told.filter((line) => line.endsWith('unacknowledged'))

  it('is one alarm: what follows from a dead node is listed under it, seen or not', () => {
    const bench = watched()
    bench.minutes(30, DEAD_NODE)
    bench.acknowledge('node-silent:bench')
    bench.minutes(30, DEAD_NODE)
    expect(raisedIn(bench.told)).toEqual(['1 node-silent:bench unacknowledged'])
    expect(bench.board()['readings-silent']).toMatchObject({ condition: 'suppressed', under: 'node-silent:bench' })
    expect(bench.board()['probe-silent:ec-1']).toMatchObject({ condition: 'suppressed', under: 'node-silent:bench' })
  })

  it('of all nodes at once is one alarm, and each node is listed under it', () => {
    const bench = watched()
    const nodes = ['a', 'b'].map((node) => ({ node, silentMs: HOUR_MS }))
    bench.minutes(5, { nodes, scanSilentMs: HOUR_MS })
    expect(raisedIn(bench.told)).toEqual(['1 nodes-silent unacknowledged'])
    expect(bench.board()['node-silent:b']?.under).toBe('nodes-silent')
    expect(bench.board()['readings-silent']?.under).toBe('nodes-silent')
  })

  it('that goes raises nothing while the probes of a node that is back have their first minutes', () => {
    const bench = watched()
    bench.minutes(10, DEAD_NODE)
    bench.minutes(2)
    expect(raisedIn(bench.told)).toEqual(['1 node-silent:bench unacknowledged'])
    expect(bench.board()['readings-silent']?.condition).toBe('normal')
  })

  it('that comes after its consequence takes it under its wing', () => {
    const bench = watched()
    bench.minutes(40, { ph: 7.6 })
    bench.minutes(5, { ph: 7.6, flowLPerMin: 0 })
    expect(bench.told).toEqual([
      '30 ph-outside unacknowledged',
      '42 no-flow unacknowledged',
      '42 ph-outside suppressed under no-flow',
    ])
  })

  it('of one node does not explain the probe of another', () => {
    const bench = watched()
    bench.minutes(20, {
      nodes: [
        { node: 'a', silentMs: HOUR_MS },
        { node: 'b', silentMs: 0 },
      ],
      probes: [{ probe: 'ph-1', node: 'b', role: 'ph', silentMs: HOUR_MS, isStuck: false }],
    })
    expect(raisedIn(bench.told)).toEqual(['1 node-silent:a unacknowledged', '3 probe-silent:ph-1 unacknowledged'])
  })

  it('that is shelved still explains what follows from it', () => {
    const bench = watched()
    bench.minutes(3, DEAD_NODE)
    bench.shelve('node-silent:bench', HOUR_MS)
    bench.minutes(30, DEAD_NODE)
    expect(raisedIn(bench.told)).toEqual(['1 node-silent:bench unacknowledged'])
  })

  it('never hides a graver alarm than itself, and stands before its consequences in the list', () => {
    const rank = { urgent: 0, high: 1, low: 2 }
    const wrong = ALARMS.flatMap((cause, at) =>
      cause.explains.filter((id) => {
        const place = ALARMS.findIndex((alarm) => alarm.id === id)
        return place <= at || rank[ALARMS[place]!.priority] < rank[cause.priority]
      }),
    )
    expect(wrong).toEqual([])
  })
})

describe('a shelved alarm', () => {
  it('is quiet until its end, and comes back by itself while its cause is there', () => {
    const bench = watched()
    bench.minutes(40, { temperatureC: 29 })
    bench.shelve('water-warm', 2 * HOUR_MS)
    bench.minutes(121, { temperatureC: 29 })
    expect(bench.told).toEqual([
      '30 water-warm unacknowledged',
      '40 water-warm shelved',
      '160 water-warm unacknowledged',
    ])
  })

  it('is normal at its end where the cause has gone', () => {
    const bench = watched()
    bench.minutes(40, { temperatureC: 29 })
    bench.shelve('water-warm', HOUR_MS)
    bench.minutes(70)
    expect(bench.told.at(-1)).toBe('100 water-warm normal')
  })

  it('can be shelved before it is raised, for work that is known to raise it', () => {
    const bench = watched()
    bench.shelve('level-low', HOUR_MS)
    bench.minutes(30, { levelL: 100 })
    expect(bench.told).toEqual(['0 level-low shelved'])
  })

  it('is taken up again by a person before its end', () => {
    const bench = watched()
    bench.minutes(40, { temperatureC: 29 })
    bench.shelve('water-warm', 2 * HOUR_MS)
    bench.minutes(5, { temperatureC: 29 })
    bench.unshelve('water-warm')
    bench.minutes(1, { temperatureC: 29 })
    expect(bench.told.slice(-2)).toEqual(['45 water-warm normal', '45 water-warm unacknowledged'])
  })

  it.each([
    ['an urgent one for more than an hour', 'no-flow', HOUR_MS + 1],
    ['another for more than a day', 'water-warm', DAY_MS + 1],
    ['until a moment that has gone', 'water-warm', 0],
    ['without a number', 'water-warm', Number.NaN],
    ['one that does not exist', 'no-such-alarm', HOUR_MS],
  ])('is refused: %s', (_what, alarm, forMs) => {
    const bench = watched()
    bench.shelve(alarm, forMs)
    expect(bench.told).toEqual([])
  })

  it.each([
    ['no-flow', HOUR_MS],
    ['water-warm', DAY_MS],
  ])('is taken up to its bound: %s', (alarm, forMs) => {
    const bench = watched()
    bench.shelve(alarm, forMs)
    expect(bench.told).toEqual([`0 ${alarm} shelved`])
  })
})

describe('every alarm', () => {
  const causes: Record<string, Partial<AlarmFacts>> = {
    'link-down': { isLinkUp: false },
    'ration-running': { ration: 'ec-1 is lost' },
    'nodes-silent': { nodes: ['a', 'b'].map((node) => ({ node, silentMs: 2 * MINUTE_MS + 1 })) },
    'node-silent': { nodes: [{ node: 'bench', silentMs: 2 * MINUTE_MS + 1 }] },
    'disk-not-writable': { isDiskWritable: false },
    'clock-not-sane': { isClockSane: false },
    tripped: { trips: [{ trip: 'pump-overran', why: 'pump-1 ran on' }] },
    leak: { wet: ['leak-1'] },
    'no-flow': { flowLPerMin: 3.9 },
    'level-low': { levelL: 129 },
    'water-lost': { waterLossLPerH: 5.1 },
    'level-high': { levelL: 256 },
    'water-warm': { temperatureC: 27.1 },
    'water-cold': { temperatureC: 9.9 },
    'readings-silent': { scanSilentMs: 5 * MINUTE_MS + 1 },
    'probe-silent': {
      probes: [{ probe: 'ec-1', node: 'bench', role: 'conductivity', silentMs: 5 * MINUTE_MS + 1, isStuck: false }],
    },
    'probe-stuck': {
      probes: [{ probe: 'ec-1', node: 'bench', role: 'conductivity', silentMs: 0, isStuck: true }],
    },
    'conductivity-outside': { conductivityDsPerM: 2.81 },
    'ph-outside': { ph: 7.3 },
    'probe-walked': { walked: [{ probe: 'ph-1', role: 'ph', text: 'pH has read 0.40 too high for an hour' }] },
    'probe-doubtful': { doubts: [{ role: 'ph', ofLimit: 1.01, text: 'pH reads about 0.4 too high' }] },
    'stock-low': { stocks: [{ stock: 'acid', leftMl: 99, leftShare: 0.099 }] },
    'doses-refused': { refused: { count: 5, why: 'the hour is full' } },
    'dosing-idle': { runsOut: { inMs: DAY_MS - 1, text: 'on hold by Ines' } },
    'sample-overdue': { sample: { ageMs: 35 * DAY_MS + 1, day: '2026-03-17', isFirstFill: false } },
    'sample-due': { sample: { ageMs: 21 * DAY_MS + 1, day: '2026-03-17', isFirstFill: false } },
    'element-unmeetable': { unmeetable: [{ element: 'Ca', text: 'calcium is above its band' }] },
  }

  it.each(ALARMS.map((alarm) => [alarm.id, alarm] as const))(
    '%s comes from its own cause alone, after its delay, and says cause, consequence, action and time',
    (id, alarm) => {
      const cause = causes[id]
      if (!cause) throw new Error(`no cause is written down for ${id}`)
      const delay = alarm.onDelayMs(SETTINGS) / MINUTE_MS
      const bench = watched()
      bench.minutes(delay, cause)
      expect(bench.told).toEqual([])
      bench.minutes(1, cause)
      const raised = bench.told.filter((line) => line.endsWith('unacknowledged'))
      expect(raised).toEqual([expect.stringMatching(new RegExp(`^${delay} ${id}(:[\\w-]+)? unacknowledged$`))])
      for (const text of [alarm.consequence, alarm.action]) expect(text).toMatch(/^[A-Z].*\.$/s)
      expect(alarm.cause).toMatch(/^[A-Z].*[^.]$/s)
      expect(alarm.respondWithin).toMatch(/minute|hour|today|day|week/)
    },
  )

  it('tells a missing bottle by its day, which holds for as long as the alarm stands', () => {
    const detailOf = (isFirstFill: boolean) => {
      const due = ALARMS.find(({ id }) => id === 'sample-due')!
      const sample = { ageMs: 21 * DAY_MS + 1, day: '2026-03-17', isFirstFill }
      return due.find({ ...WELL, sample, atMs: 0 }, SETTINGS, () => false)[0]?.detail
    }
    expect(detailOf(false)).toBe('the last bottle was filled on 2026-03-17')
    expect(detailOf(true)).toBe('no report has come since the first fill on 2026-03-17')
  })

  it('stays quiet where nothing is known: an absent sensor raises nothing', () => {
    const { flowLPerMin: _f, temperatureC: _t, levelL: _l, ph: _p, conductivityDsPerM: _c, ...blind } = WELL
    const { waterLossLPerH: _w, sample: _s, ...nothing } = blind
    for (let at = 0; at < 60; at++)
      expect(watchAlarms(SETTINGS, {}, { ...nothing, atMs: at * MINUTE_MS }).changes).toEqual([])
  })

  it('stays quiet while all is well, and the board is the very same object', () => {
    const board: AlarmBoard = {}
    expect(watchAlarms(SETTINGS, board, { ...WELL, atMs: 0 }).board).toBe(board)
  })

  it('of a reading that is no number raises nothing and ends nothing that stands', () => {
    const bench = watched()
    bench.minutes(3, { flowLPerMin: 0 })
    bench.minutes(10, { flowLPerMin: Number.NaN })
    expect(bench.told).toEqual(['2 no-flow unacknowledged'])
  })
})
