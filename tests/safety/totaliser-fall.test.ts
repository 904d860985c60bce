import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import type { PermittedShot } from '../../src/safety/permitted-shot.ts'
import { type Bench, MINUTE, readyBench, SECOND } from './bench.ts'

const settled = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'settled')
const trips = (bench: Bench) => bench.state.trips.map((trip) => `${trip.trip} ${trip.subject}`)
const FELL = ['totaliser-fell bench/pump-3']
const IN_FULL = [{ outcome: 'stopped', delivered: { lowUl: 0, highUl: 10_000 } }]

/** A shot of 20 s that is seen to run: five seconds on, a heartbeat tells so much of it. */
function running(ranMs: number): { readonly bench: Bench; readonly shot: PermittedShot; readonly memory: Memory } {
  const bench = readyBench()
  const shot = bench.mustWish('nitrate', 10_000)
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  const memory = bench.pumps[shot.pump]!
  memory.runningId = shot.id
  beatAfter(bench, memory, { ranMs })
  return { bench, shot, memory }
}

type Memory = Bench['pumps'][string]

function beatAfter(bench: Bench, memory: Memory, grown: { ranMs?: number; doubtMs?: number }): readonly Happening[] {
  memory.totalRunMs += grown.ranMs ?? 0
  memory.doubtMs += grown.doubtMs ?? 0
  bench.atMs += 5 * SECOND
  return bench.beat()
}

describe('a count that grew during a run and became smaller', () => {
  it('trips though it stands above where the run began, and the shot counts in full', () => {
    const { bench, memory } = running(5000)
    expect(settled(beatAfter(bench, memory, { ranMs: -1 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })

  it('does not trip while it stands still', () => {
    const { bench, memory } = running(5000)
    expect(settled(beatAfter(bench, memory, {}))).toEqual([])
    expect(trips(bench)).toEqual([])
  })

  it('trips where it is the doubt', () => {
    const { bench, memory } = running(5000)
    beatAfter(bench, memory, { ranMs: 5000, doubtMs: 700 })
    expect(trips(bench)).toEqual([])
    expect(settled(beatAfter(bench, memory, { ranMs: 5000, doubtMs: -1 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })

  it('trips where it is the report that tells less than a heartbeat before it', () => {
    const { bench, shot } = running(5000)
    bench.atMs += SECOND
    expect(settled(bench.report(shot, 'stopped', 4999, { totalRunMs: 5999 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })

  it('trips where it is the report of the very same moment', () => {
    const { bench, shot } = running(5000)
    bench.report(shot, 'stopped', 4999, { totalRunMs: 5999 })
    expect(trips(bench)).toEqual(FELL)
  })

  it('is not what a report tells that was sent before the heartbeat and comes after it', () => {
    const { bench, shot } = running(5000)
    const told = bench.report(shot, 'stopped', 4999, { totalRunMs: 5999, uptimeMs: bench.uptimeMs - 1 })
    expect(settled(told)).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 2499, highUl: 2500 } }])
    expect(trips(bench)).toEqual([])
  })

  it('trips after such a report has settled the shot', () => {
    const { bench, shot, memory } = running(5000)
    bench.report(shot, 'stopped', 4000, { totalRunMs: 5000, uptimeMs: bench.uptimeMs - 1 })
    beatAfter(bench, memory, { ranMs: -1 })
    expect(trips(bench)).toEqual(FELL)
  })

  it('is where the next one begins to count, so that nothing is taken for a run of its own', () => {
    const { bench, memory } = running(5000)
    beatAfter(bench, memory, { ranMs: -1000 })
    beatAfter(bench, memory, {})
    expect(trips(bench)).toEqual(FELL)
  })

  it('counts what was heard where that is more than was asked', () => {
    const { bench, memory } = running(20_400)
    expect(settled(beatAfter(bench, memory, { ranMs: -400 }))).toMatchObject([
      { delivered: { lowUl: 0, highUl: 10_200 } },
    ])
  })

  it('counts what was heard of doubt as well', () => {
    const { bench, memory } = running(15_000)
    beatAfter(bench, memory, { doubtMs: 5400 })
    expect(settled(beatAfter(bench, memory, { ranMs: -1 }))).toMatchObject([{ delivered: { highUl: 10_200 } }])
  })
})

describe('a node that starts anew in mid-run', () => {
  it('may take back what it had counted of the run, since its doubt stands for all that was asked', () => {
    const { bench, memory } = running(5000)
    bench.reboot('boot-2')
    expect(settled(beatAfter(bench, memory, { ranMs: -5000, doubtMs: 20_000 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual([])
  })

  it('may have kept a part of the count, and doubt for as much as was heard', () => {
    const { bench, memory } = running(5000)
    bench.reboot('boot-2')
    const told = beatAfter(bench, memory, { ranMs: -3000, doubtMs: 3000 })
    expect(settled(told)).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 1000, highUl: 2500 } }])
    expect(trips(bench)).toEqual([])
  })

  it('trips where count and doubt together tell less than was heard', () => {
    const { bench, memory } = running(5000)
    bench.reboot('boot-2')
    expect(settled(beatAfter(bench, memory, { ranMs: -3000, doubtMs: 2999 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })

  it('trips where its doubt became smaller, whatever its count', () => {
    const { bench, memory } = running(5000)
    beatAfter(bench, memory, { doubtMs: 700 })
    bench.reboot('boot-2')
    beatAfter(bench, memory, { ranMs: 9000, doubtMs: -1 })
    expect(trips(bench)).toEqual(FELL)
  })

  it('is believed a run that went over by a little, for which nothing vouches, and the run counts as it was heard', () => {
    const { bench, memory } = running(20_400)
    bench.reboot('boot-2')
    const told = beatAfter(bench, memory, { ranMs: -20_400, doubtMs: 20_000 })
    expect(settled(told)).toMatchObject([{ delivered: { lowUl: 0, highUl: 10_200 } }])
    expect(trips(bench)).toEqual([])
  })

  it('trips where it vouches for a millisecond less than was asked of such a run', () => {
    const { bench, memory } = running(20_400)
    bench.reboot('boot-2')
    beatAfter(bench, memory, { ranMs: -20_400, doubtMs: 19_999 })
    expect(trips(bench)).toEqual(FELL)
  })

  it('trips after a report had settled the shot by less than was heard', () => {
    const { bench, shot, memory } = running(5000)
    bench.report(shot, 'stopped', 4000, { totalRunMs: 5000, uptimeMs: bench.uptimeMs - 1 })
    bench.reboot('boot-2')
    beatAfter(bench, memory, { ranMs: -1000 })
    expect(trips(bench)).toEqual(FELL)
  })
})

describe('a restart of the daemon in mid-run', () => {
  it('remembers no heartbeat, so that a report is held against the count before the shot alone', () => {
    const { bench, shot } = running(5000)
    bench.die()
    bench.start(2)
    bench.status()
    bench.atMs += MINUTE
    expect(settled(bench.report(shot, 'stopped', 4000, { totalRunMs: 5000 }))).toMatchObject([
      { outcome: 'stopped', delivered: { lowUl: 2000, highUl: 2000 } },
    ])
    expect(trips(bench)).toEqual([])
  })

  it('that kept its memory still knows what it heard', () => {
    const { bench, memory } = running(5000)
    bench.start(2)
    bench.status()
    beatAfter(bench, memory, { ranMs: -1 })
    expect(trips(bench)).toEqual(FELL)
  })
})

describe('a count that became smaller while the daemon was away', () => {
  it('trips by what the records of a pump at rest say, and not while it stands there', () => {
    const fallen = afterDeath()
    beatAfter(fallen.bench, fallen.memory, { ranMs: -1 })
    expect(trips(fallen.bench)).toEqual(FELL)
    const kept = afterDeath()
    beatAfter(kept.bench, kept.memory, {})
    expect(trips(kept.bench)).toEqual([])
  })

  it('trips where it is the doubt that a command was judged with, and the shot counts in full', () => {
    const { bench, memory } = withOpenShot()
    expect(settled(beatAfter(bench, memory, { ranMs: 20_000, doubtMs: -1 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })

  it('trips where it is the count that a command was judged with, however much was doubted since', () => {
    const { bench, memory } = withOpenShot()
    expect(settled(beatAfter(bench, memory, { ranMs: -1, doubtMs: 9000 }))).toMatchObject(IN_FULL)
    expect(trips(bench)).toEqual(FELL)
  })
})

describe('a node that started anew', () => {
  it('may not take back what a pump at rest had counted, whatever it doubts instead', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    beatAfter(bench, bench.pumps['pump-3']!, { ranMs: -1, doubtMs: 5000 })
    expect(trips(bench)).toEqual(FELL)
  })
})

/** The daemon died after a shot of the resting pump was settled. */
function afterDeath(): { readonly bench: Bench; readonly memory: Memory } {
  const bench = readyBench()
  const { pump } = bench.dose('nitrate', 10_000)
  bench.die()
  bench.start(2)
  bench.status()
  return { bench, memory: bench.pumps[pump]! }
}

/** The daemon died with a shot on its way; some of the pump’s count was doubted long before. */
function withOpenShot(): { readonly bench: Bench; readonly memory: Memory } {
  const bench = readyBench()
  const memory = bench.pumps['pump-3']!
  beatAfter(bench, memory, { doubtMs: 3000 })
  bench.pass(40 * MINUTE)
  const shot = bench.mustWish('nitrate', 10_000)
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  bench.die()
  bench.start(2)
  bench.status()
  return { bench, memory }
}
