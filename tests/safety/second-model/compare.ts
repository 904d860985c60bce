/** Plays sequences at a bench and asks gate and second model the same; where they differ, keeps how it came about. */

import type { Limits } from '../../../src/safety/limits.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import { type Answers, SETTLED } from './answers.ts'
import { type Chance, chanceOf } from './chance.ts'
import { edgesOf } from './edges.ts'
import { Gate } from './gate.ts'
import { begin, moveOn } from './moves.ts'
import { against, type View, viewAt } from './opinion.ts'
import { Plant } from './plant.ts'
import { randomLimits } from './random-limits.ts'
import type { Told } from './told.ts'
import { wishesAt } from './wishes.ts'

export interface Difference {
  /** laxer: the gate permits what the model refuses; stricter: the other way about */
  readonly side: 'laxer' | 'stricter'
  readonly why: string
  readonly seed: number
  readonly limits: Limits
  readonly told: readonly Told[]
  readonly wish: ShotWish
  readonly atMs: number
}

export interface Tally {
  asked: number
  /** of these, how many of `judge` itself, the others of its rows */
  judged: number
  permitted: number
  shots: number
  sequences: number
  /** wishes that exactly one rule of the gate refused, by that rule */
  readonly alone: Map<string, number>
  /** how often each difference was met, with the first of it */
  readonly differences: Map<string, { count: number; readonly first: Difference }>
}

/** What the second model is to go by; to see that a difference would be found, it can be told other things. */
export interface Model {
  readonly answers: Answers
  readonly limits: (limits: Limits) => Limits
}

const AS_SETTLED: Model = { answers: SETTLED, limits: (limits) => limits }

/** Plays sequences from one seed on until this many wishes were asked of both, or until `isEnough`. */
export function campaign(
  firstSeed: number,
  wishes: number,
  model: Partial<Model> = {},
  isEnough: (tally: Tally) => boolean = () => false,
): Tally {
  const tally: Tally = {
    asked: 0,
    judged: 0,
    permitted: 0,
    shots: 0,
    sequences: 0,
    alone: new Map(),
    differences: new Map(),
  }
  const whole = { ...AS_SETTLED, ...model }
  for (let seed = firstSeed; tally.asked < wishes && !isEnough(tally); seed += 1) playSequence(seed, whole, tally)
  return tally
}

const TOLD_MAX = 350
const MOVES_MAX = 60
const WISHES_A_MOMENT = 30
const JUDGED_SHARE = 0.03

function playSequence(seed: number, model: Model, tally: Tally): void {
  const chance = chanceOf(seed)
  const gate = new Gate(randomLimits(chance))
  const plant = new Plant(gate, chance)
  const limits = model.limits(gate.limits)
  const isCalm = chance.often(0.5)
  begin(plant)
  for (let move = 0; move < MOVES_MAX && gate.told.length < TOLD_MAX; move += 1) {
    const now = viewAt(limits, gate.told, plant.atMs, model.answers)
    ask(gate, now, { chance, tally, seed })
    for (const atMs of momentsBeside(now, chance)) {
      ask(gate, viewAt(limits, gate.told, atMs, model.answers), { chance, tally, seed })
    }
    moveOn(plant, now, isCalm)
  }
  tally.sequences += 1
  tally.shots += gate.told.filter((event) => event.kind === 'shot').length
}

/** Sometimes a moment ago, and the moments about an edge to come. */
function momentsBeside(view: View, chance: Chance): readonly number[] {
  const now = view.atMs
  const moments: number[] = []
  if (chance.often(0.03)) moments.push(now - 1 - chance.below(5000))
  if (chance.often(0.5)) {
    const { scanAgeMaxMs, heartbeatAgeMaxMs } = view.limits
    const edges = edgesOf(view).filter((edge) => edge > now && edge - now <= Math.min(scanAgeMaxMs, heartbeatAgeMaxMs))
    if (edges.length > 0) {
      const edge = chance.pick(edges)
      moments.push(edge - 1, edge, edge + 1)
    }
  }
  return moments
}

function ask(gate: Gate, view: View, by: { chance: Chance; tally: Tally; seed: number }): void {
  const { tally, seed } = by
  const { limits, told } = gate
  const { atMs } = view
  const rows = gate.rowsAt(atMs)
  for (const wish of wishesAt(view, by.chance, WISHES_A_MOMENT)) {
    const isJudged = by.chance.often(JUDGED_SHARE)
    const refusals = isJudged ? gate.refusals(wish, atMs) : rows(wish)
    if (isJudged && refusals.join() !== rows(wish).join()) throw new Error(`judge and its rows differ, seed ${seed}`)
    if (isJudged) tally.judged += 1
    const reasons = against(view, wish)
    tally.asked += 1
    if (refusals.length === 0) tally.permitted += 1
    const [only] = refusals
    if (refusals.length === 1 && only !== undefined) tally.alone.set(only, (tally.alone.get(only) ?? 0) + 1)
    if ((refusals.length === 0) === (reasons.length === 0)) continue
    const side = refusals.length === 0 ? 'laxer' : 'stricter'
    const why = `${side}: ${[...new Set(side === 'laxer' ? reasons : refusals)].sort().join(', ')}`
    const known = tally.differences.get(why)
    if (known !== undefined) known.count += 1
    else {
      const first: Difference = { side, why, seed, limits, told: [...told], wish, atMs }
      tally.differences.set(why, { count: 1, first })
    }
  }
}
