/**
 * Heartbeats are no records: what a node was heard to say of a run is forgotten when the daemon dies in it. Of a node that
 * keeps the contract that hides nothing, since its count only grows, and a start of its own doubts the whole run asked.
 */

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Bench, MINUTE, readyBench, SECOND } from './bench.ts'

const ASKED_UL = 10_000
const ASKED_MS = 20_000
/** what goes for a run that a relay ended late, ms, and its volume */
const OVER_MS = 500
const OVER_UL = 250

/** What a pump of a node that keeps the contract does with a shot of 20 s. */
const runs = fc.record({
  /** heard while it runs */
  heardMs: fc.integer({ min: 0, max: ASKED_MS + OVER_MS }),
  /** ran in all, no less */
  moreMs: fc.integer({ min: 0, max: ASKED_MS }),
  /** share of what it had counted that it still knows after a start of its own; null where it does not start */
  kept: fc.option(fc.double({ min: 0, max: 1, noNaN: true })),
})

type Run = typeof runs extends fc.Arbitrary<infer One> ? One : never

interface Ended {
  readonly highUl: number
  readonly trips: readonly string[]
  readonly truthUl: number
}

/** Lives a shot through; the daemon dies in it, or starts anew and keeps all that it heard. */
function live({ heardMs, moreMs, kept }: Run, dies: boolean): Ended {
  const bench = readyBench()
  const shot = bench.mustWish('nitrate', ASKED_UL)
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  const memory = bench.pumps[shot.pump]!
  const beforeMs = memory.totalRunMs
  memory.totalRunMs += heardMs
  memory.runningId = shot.id
  bench.atMs += 5 * SECOND
  bench.beat()
  if (dies) bench.die()
  bench.start(2)
  bench.status()
  const ranMs = kept === null ? Math.min(heardMs + moreMs, Math.max(heardMs, ASKED_MS)) : heardMs
  memory.totalRunMs = beforeMs + ranMs
  delete memory.runningId
  if (kept !== null) {
    memory.totalRunMs = beforeMs + Math.floor(kept * heardMs)
    memory.doubtMs += ASKED_MS
    bench.reboot('boot-2')
  }
  bench.atMs += 2 * MINUTE
  bench.beat()
  return { highUl: highOf(bench), trips: bench.state.trips.map(({ trip }) => trip), truthUl: ranMs / 2 }
}

function highOf({ state }: Bench): number {
  expect(state.book.commands).toEqual([])
  return (state.book.stocks['nitrate']?.rows ?? []).reduce((sum, row) => sum + row.highUl, 0)
}

describe('what was heard of a run in which the daemon died', () => {
  it('of a node that does not start anew makes no difference once it is forgotten', () => {
    fc.assert(
      fc.property(runs, (run) => {
        expect(live({ ...run, kept: null }, true)).toEqual(live({ ...run, kept: null }, false))
      }),
      { numRuns: 60 },
    )
  })

  it('of one that does leaves all that was asked counted, and no trip is lost', () => {
    fc.assert(
      fc.property(runs, fc.double({ min: 0, max: 1, noNaN: true }), (run, kept) => {
        const [forgotten, remembered] = [live({ ...run, kept }, true), live({ ...run, kept }, false)]
        expect(forgotten.trips).toEqual(remembered.trips)
        expect(forgotten.highUl).toBeGreaterThanOrEqual(Math.min(ASKED_UL, forgotten.truthUl))
        expect(forgotten.highUl).toBeGreaterThanOrEqual(remembered.highUl - OVER_UL)
      }),
      { numRuns: 60 },
    )
  })

  it('is missed of a node that breaks the contract in the same minute: its count falls, and nothing trips', () => {
    const fallen = (dies: boolean) => {
      const bench = readyBench()
      const shot = bench.mustWish('nitrate', ASKED_UL)
      bench.edge({ edge: 'command-sent', commandId: shot.id })
      bench.run(shot.pump, 8000)
      bench.atMs += 5 * SECOND
      bench.beat()
      if (dies) bench.die()
      bench.start(2)
      bench.status()
      bench.run(shot.pump, -3000)
      bench.atMs += 2 * MINUTE
      bench.beat()
      return { highUl: highOf(bench), trips: bench.state.trips.map(({ trip }) => trip) }
    }
    expect(fallen(false)).toEqual({ highUl: ASKED_UL, trips: ['totaliser-fell'] })
    expect(fallen(true)).toEqual({ highUl: 2500, trips: [] })
  })
})
