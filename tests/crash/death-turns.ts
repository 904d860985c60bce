/** When a daemon is to die: at its own durable points in turn, and now and then while it is only just coming back. */

import type { RandomStream } from '../../simulator/random.ts'

/** Kinds of the records that are kept together; `snapshot` for a state kept whole. */
export type DurablePoint = readonly string[]

export interface DeathTurns {
  /** a new life begins */
  begin(): void
  /** whether the life ends at this point */
  isDue(point: DurablePoint): boolean
  /** nobody dies any more */
  end(): void
}

/** Start, snapshot, and the alarms that a cold start raises and ends. */
const POINTS_OF_A_BIRTH = 3
/** So many deaths later one comes during the birth that follows; chosen. */
const BIRTHS_APART = 5

/**
 * Of every so many points of what a site lives through anyway (`turns`) each turn (1, 2, …) dies at one, and together they
 * die at all. Which at which is drawn anew for each lot, the same for all turns of a seed: at a fixed distance deaths fall
 * into step with what a birth brings with it and always meet the same record. That is counted apart: every fifth death
 * is followed by one at the first, second or third point of the birth after it.
 *
 * @param random a stream of its own, begun alike for all turns of a seed
 */
export function deathTurns(turn: number, turns: number, random: RandomStream): DeathTurns {
  let lot: number[] = []
  let ownDeaths = 0
  let birthPoints = 0
  let birthDeaths = 0
  let dieAtBirthPoint: number | undefined
  let isOver = false

  const atBirth = (): boolean => {
    birthPoints++
    if (birthPoints !== dieAtBirthPoint) return false
    birthDeaths++
    dieAtBirthPoint = undefined
    return true
  }
  const atOwn = (): boolean => {
    if (lot.length === 0) lot = drawn(turns, random)
    if (lot.pop() !== turn) return false
    ownDeaths++
    if (ownDeaths % BIRTHS_APART === 0) dieAtBirthPoint = 1 + (birthDeaths % POINTS_OF_A_BIRTH)
    return true
  }
  return {
    begin: () => {
      birthPoints = 0
    },
    isDue: (point) => !isOver && (isOfABirth(point) ? atBirth() : atOwn()),
    end: () => {
      isOver = true
    },
  }
}

function drawn(turns: number, random: RandomStream): number[] {
  const places = Array.from({ length: turns }, (_, at) => ({ turn: at + 1, place: random.uniform() }))
  return places.toSorted((a, b) => a.place - b.place).map(({ turn }) => turn)
}

function isOfABirth(point: DurablePoint): boolean {
  return point.includes('started') || point.every((kind) => kind === 'snapshot' || kind === 'alarm')
}
