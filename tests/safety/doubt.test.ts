import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import { type Bench, MINUTE, readyBench, SECOND } from './bench.ts'

const settled = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'settled')
const trips = (bench: Bench) => bench.state.trips.map((trip) => trip.trip)

/** A shot of 10 mL, 20 s of its pump, handed over. */
function sent() {
  const bench = readyBench()
  const shot = bench.mustWish('nitrate', 10_000)
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  return { bench, shot }
}

/** The same, run and reported. */
function done() {
  const { bench, shot } = sent()
  bench.atMs += shot.runMs
  bench.run(shot.pump, shot.runMs)
  bench.report(shot, 'done', shot.runMs)
  return { bench, shot }
}

/** The edges of the device contract, one by one; each leaves doubt on the side of more delivered. */
describe('doubt about a command', () => {
  it('a second report after it is settled changes nothing, whatever it says', () => {
    const { bench, shot } = done()
    const before = bench.state
    for (const state of ['done', 'stopped', 'refused'] as const) bench.report(shot, state, 0)
    expect(bench.state).toBe(before)
  })

  it('a totaliser that falls closes it in full and trips', () => {
    const { bench, shot } = sent()
    bench.run(shot.pump, -500)
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 0, highUl: 10_000 } }])
    expect(trips(bench)).toEqual(['totaliser-fell'])
  })

  it('a doubt that rises widens the interval of the shot on its way, upwards only', () => {
    const { bench, shot } = sent()
    bench.reboot('boot-2')
    bench.run(shot.pump, 4000)
    bench.pumps[shot.pump]!.doubtMs += 16_000
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 2000, highUl: 10_000 } }])
  })

  it('a doubt that clears is a count that fell: nobody knows what it stood for, so it trips', () => {
    const bench = readyBench()
    bench.pumps['pump-3']!.doubtMs = 5000
    bench.beat()
    bench.atMs += SECOND
    bench.pumps['pump-3']!.doubtMs = 0
    bench.beat()
    expect(trips(bench)).toContain('totaliser-fell')
  })

  it('a late will of an old boot does not take the node away', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    bench.status()
    bench.pass(MINUTE)
    bench.status(false, 'boot-1')
    expect(bench.refusals('nitrate')).not.toContain('node-online')
  })

  it('a node that has seen a higher term is not ours to dose from', () => {
    const bench = readyBench()
    bench.atMs += SECOND
    bench.beat(bench.term + 1)
    expect(bench.refusals('nitrate')).toContain('term-ours')
  })

  it('a daemon that comes back under a lower term permits nothing', () => {
    const bench = readyBench()
    bench.start(0)
    expect(bench.refusals('nitrate')).toContain('started')
  })

  it('a name that was used is never used again, on its way or settled', () => {
    const { bench, shot } = sent()
    const again = () => {
      const { verdict } = bench.ask('calcium', 1000, 'plan-1', shot.id)
      return verdict.kind === 'permit' ? [] : verdict.why.map(({ interlock }) => interlock)
    }
    expect(again()).toContain('command-id-new')
    bench.run(shot.pump, shot.runMs)
    bench.report(shot, 'done', shot.runMs)
    expect(again()).toContain('command-id-new')
  })

  it('once its start deadline is past and its pump never ran, it delivered nothing', () => {
    const { bench } = sent()
    bench.atMs += MINUTE
    expect(settled(bench.beat())).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 0, highUl: 0 } }])
  })

  it('past its deadline it stays open while the node says that it runs', () => {
    const { bench, shot } = sent()
    bench.atMs += MINUTE
    bench.pumps[shot.pump]!.runningId = shot.id
    expect(settled(bench.beat())).toEqual([])
  })

  it('a report of a name nobody knows changes nothing; what ran shows at the next heartbeat, and trips', () => {
    const { bench, shot } = done()
    bench.run(shot.pump, 3000)
    const before = bench.state
    bench.report({ ...shot, id: 'c-unknown' } as typeof shot, 'done', 3000)
    expect(bench.state).toBe(before)
    bench.atMs += SECOND
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 1500, highUl: 1500 } }])
    expect(trips(bench)).toEqual(['pump-ran-alone'])
  })

  it('that a command was handed over, or was not, is heard of that command alone, and of a name nobody knows not at all', () => {
    const bench = readyBench()
    const { id } = bench.mustWish('nitrate', 1000)
    const [open] = bench.state.book.commands
    const other = { ...open!, node: 'shed', commandId: 'c-other' }
    bench.state = { ...bench.state, book: { ...bench.state.book, commands: [other, open!] } }
    bench.edge({ edge: 'command-sent', commandId: id })
    expect(bench.state.book.commands).toEqual([other, { ...open, sent: true }])
    const before = bench.state
    bench.edge({ edge: 'command-sent', commandId: 'c-unknown' })
    expect(bench.state).toBe(before)
  })

  it('a command that was handed to a client cannot become unsent again', () => {
    const { bench, shot } = sent()
    expect(settled(bench.edge({ edge: 'command-not-sent', commandId: shot.id }))).toEqual([])
  })
})
