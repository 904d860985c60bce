/** Random weeks at the bench: shots of all sizes, and everything that can become of a shot. */

import fc from 'fast-check'
import type { Limits } from '../../src/safety/limits.ts'
import { type Bench, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

/** Caps that random shots run into often, at rates that do not divide evenly. */
export const TIGHT: Limits = {
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry, place) => ({
    ...entry,
    rateUlPerS: 500 + place * 137.7,
    shotMaxUl: 9000,
    hourMaxUl: 15_000,
    dayMaxUl: 60_000,
  })),
}

const FATES = ['done', 'stopped', 'refused', 'not-sent', 'lost-run', 'lost-idle', 'reboot', 'restart'] as const
type Fate = (typeof FATES)[number]

export interface Move {
  readonly waitMs: number
  readonly stock: string
  readonly volumeUl: number
  readonly fate: Fate
  /** share of the run that took place, where the fate leaves it open */
  readonly share: number
}

export const moves = fc.array(
  fc.record({
    waitMs: fc.oneof(
      fc.integer({ min: 0, max: 20 * MINUTE }),
      fc.integer({ min: 0, max: 3 * HOUR }),
      fc.constantFrom(5 * MINUTE, 20 * MINUTE, HOUR),
    ),
    stock: fc.constantFrom('calcium', 'phosphate', 'nitrate', 'acid'),
    volumeUl: fc.oneof(fc.integer({ min: 1, max: 10_000 }), fc.constantFrom(5000, 7500, 9000)),
    fate: fc.constantFrom(...FATES),
    share: fc.double({ min: 0, max: 1, noNaN: true }),
  }),
  { minLength: 1, maxLength: 40 },
)

/** What truly left a bottle, known only to the test. */
interface TrueRun {
  readonly stock: string
  readonly endMs: number
  readonly ul: number
}

export interface Campaign {
  readonly bench: Bench
  readonly truth: readonly TrueRun[]
}

/** Plays moves; `look` is called with the bench before each wish. */
export function play(list: readonly Move[], look: (bench: Bench, move: Move) => void = () => {}): Campaign {
  const bench = readyBench(TIGHT)
  const truth: TrueRun[] = []
  for (const move of list) {
    bench.pass(move.waitMs)
    look(bench, move)
    meetFate(bench, move, truth)
  }
  return { bench, truth }
}

function meetFate(bench: Bench, move: Move, truth: TrueRun[]): void {
  const shot = bench.wish(move.stock, move.volumeUl)
  if (shot === null) return
  const { fate } = move
  if (fate === 'not-sent') return void bench.edge({ edge: 'command-not-sent', commandId: shot.id })
  bench.edge({ edge: 'command-sent', commandId: shot.id })
  if (fate === 'refused') return void bench.report(shot, 'refused', 0)
  const ranMs = fate === 'done' ? shot.runMs : Math.floor(shot.runMs * move.share)
  if (fate === 'lost-idle') return void sleep(bench, shot.runMs)
  bench.atMs += shot.runMs
  bench.run(shot.pump, ranMs)
  const rateUlPerS = TIGHT.stocks.find((entry) => entry.stock === move.stock)?.rateUlPerS ?? Number.NaN
  truth.push({ stock: move.stock, endMs: bench.atMs, ul: (ranMs * rateUlPerS) / 1000 })
  if (fate === 'done' || fate === 'stopped') return void bench.report(shot, fate, ranMs)
  if (fate === 'lost-run') return void sleep(bench, 0)
  bench.atMs += SECOND
  if (fate === 'reboot') {
    bench.reboot(`${bench.boot}+`)
    const pump = bench.pumps[shot.pump]
    if (pump !== undefined) pump.doubtMs += shot.runMs - ranMs
  } else bench.start(bench.term + 1)
  bench.status()
}

/** Nobody hears from the node until long after the shot is overdue. */
function sleep(bench: Bench, runMs: number): void {
  bench.atMs += runMs + 3 * MINUTE
  bench.tick()
}
