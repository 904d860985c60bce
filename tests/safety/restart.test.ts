import { describe, expect, it } from 'vitest'
import { restartedInMidShot } from './arrangement.ts'
import { type Bench, HOUR, LIMITS, MINUTE, readyBench } from './bench.ts'

const ID = 'c-1-1'
const close = (bench: Bench, reason?: string) =>
  bench.instruct({ instruction: 'reset', trip: `unsettled:${ID}` }, reason)

function awake(): Bench {
  const bench = readyBench()
  restartedInMidShot(bench)
  return bench
}

describe('after a restart with a shot on its way', () => {
  it('no stock may be dosed, and the headroom says why and what to do', () => {
    const bench = awake()
    for (const { stock } of LIMITS.stocks) {
      const left = bench.headroom(stock)
      expect(left.shotUl, stock).toBe(0)
      expect(left.blockedBy, stock).toContain('settled-since-start')
    }
    const at = bench.headroom('calcium').blockedBy.indexOf('settled-since-start')
    expect(bench.headroom('calcium').blockedWhy[at]).toBe(
      'what became of command c-1-1 from before the start is not settled; bring node bench back, or, if it is gone for ' +
        'good, have a technician close the command as delivered: reset unsettled:c-1-1',
    )
  })

  it('the figures on record name the command and its node', () => {
    expect(awake().ask('calcium', 1000).verdict.figures).toMatchObject({
      openFromBefore: ID,
      openFromBeforeNode: 'bench',
    })
  })

  it('its node’s totaliser settles it, and dosing goes on', () => {
    const bench = awake()
    bench.run('pump-3', 20_000)
    bench.status()
    expect(bench.beat()).toContainEqual(
      expect.objectContaining({ commandId: ID, outcome: 'done', delivered: { lowUl: 10_000, highUl: 10_000 } }),
    )
    bench.scan()
    bench.pass(20 * MINUTE)
    expect(bench.refusals('calcium')).toEqual([])
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('waits through any number of further restarts', () => {
    const bench = awake()
    for (const term of [3, 4]) {
      bench.die()
      bench.start(term)
      bench.atMs += HOUR
      expect(bench.refusals('calcium')).toContain('settled-since-start')
    }
  })

  it('a start that is refused for its term opens nothing', () => {
    const bench = awake()
    bench.start(1)
    expect(bench.refusals('calcium')).toEqual(expect.arrayContaining(['started', 'settled-since-start']))
  })
})

describe('a command whose node is gone for good', () => {
  it('is closed by a technician as delivered in full, which is told and counts', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 10_000)
    bench.die()
    bench.start(2)
    bench.atMs += 3 * MINUTE
    expect(close(bench)).toContainEqual({
      kind: 'settled',
      commandId: ID,
      stock: 'nitrate',
      outcome: 'stopped',
      delivered: { lowUl: 0, highUl: 10_000 },
    })
    expect(bench.headroom('nitrate').hourUl).toBe(70_000)
    expect(bench.refusals('calcium')).not.toContain('settled-since-start')
  })

  it('stays closed after another restart', () => {
    const bench = awake()
    close(bench)
    bench.die()
    bench.start(3)
    expect(bench.refusals('calcium')).not.toContain('settled-since-start')
  })

  it('is not closed without a reason, while it may still run, or when nobody waits for it', () => {
    const early = readyBench()
    const shot = early.mustWish('nitrate', 10_000)
    const judgedAtMs = early.atMs
    expect(close(early)).toEqual([
      { kind: 'instruction-refused', instruction: 'reset', why: 'c-1-1 is no command that waits to be settled' },
    ])
    early.start(2)
    early.atMs = judgedAtMs + LIMITS.startWindowMs + shot.runMs
    expect(close(early)).toMatchObject([{ kind: 'instruction-refused', why: expect.stringContaining('may still run') }])
    early.atMs += 1
    expect(close(early, ' ')).toMatchObject([{ kind: 'instruction-refused', why: expect.stringContaining('reason') }])
    expect(close(early)).toMatchObject([{ kind: 'settled' }])
    expect(close(early)).toMatchObject([{ kind: 'instruction-refused' }])
  })

  it('is closed by its own name, whatever else waits to be settled', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 10_000)
    bench.atMs += HOUR
    bench.tick()
    const [open] = bench.state.book.commands
    const other = { ...open!, node: 'shed', commandId: 'c-other' }
    bench.state = { ...bench.state, book: { ...bench.state.book, commands: [other, open!] } }
    expect(close(bench)).toMatchObject([{ kind: 'settled', commandId: ID }])
    expect(bench.state.book.commands).toEqual([other])
  })

  it('may be closed without a restart too', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 10_000)
    bench.atMs += HOUR
    bench.tick()
    expect(close(bench)).toMatchObject([{ kind: 'settled', delivered: { lowUl: 0, highUl: 10_000 } }])
  })

  it('counts once more and trips, should the node come back and have run after all', () => {
    const bench = awake()
    close(bench)
    bench.run('pump-3', 20_000)
    bench.status()
    expect(bench.beat()).toContainEqual(expect.objectContaining({ kind: 'tripped', trip: 'pump-ran-alone' }))
  })
})
