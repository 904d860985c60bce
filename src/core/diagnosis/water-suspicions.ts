/** Water that came or went without anybody writing it down. */

import type { GridStep, TimedAct } from '../estimate/grid-step.ts'
import type { CoreSettings } from '../settings.ts'
import type { Suspicion, Variant } from './suspicion.ts'

const DAY_MS = 86_400_000
const CHANGED = [0.1, 0.25, 0.5] as const
const FLOODED_PER_DAY = [0.03, 0.1] as const
const OVERFLOW_SHARE = 0.8

/** @param onsetsMs moments at which it may have happened or begun */
export function waterSuspicions(settings: CoreSettings, onsetsMs: readonly number[]): readonly Suspicion[] {
  return [changed(settings, onsetsMs), flooded(settings, onsetsMs)]
}

/** Part of the solution let go and replaced by plain water, all at once. */
function changed(settings: CoreSettings, onsetsMs: readonly number[]): Suspicion {
  const { volumeL } = settings.reservoir
  const variants = onsetsMs.flatMap((sinceMs) =>
    CHANGED.map((share): Variant => {
      const acts = exchange(share * volumeL, sinceMs)
      return {
        sinceMs,
        size: `about ${(share * volumeL).toFixed(0)} L`,
        change: (step) => (isIn(step, sinceMs, settings) ? { ...step, acts: [...step.acts, ...acts] } : step),
      }
    }),
  )
  return {
    id: 'water-changed',
    prior: 0.04,
    variants,
    tell: ({ size }) => `Somebody seems to have replaced ${size} of solution by water without writing it down.`,
    check:
      'Ask whoever was in the room; enter it as a change if so. If nobody was, look for a leak that the float valve refills.',
  }
}

/** A float valve that never closes: water runs in and solution over, and every ion grows thinner alike. */
function flooded(settings: CoreSettings, onsetsMs: readonly number[]): Suspicion {
  const { volumeL } = settings.reservoir
  const perDay = settings.grid.stepMs / DAY_MS
  const variants = onsetsMs.flatMap((sinceMs) =>
    FLOODED_PER_DAY.map((share): Variant => {
      const stepL = share * volumeL * perDay
      return {
        sinceMs,
        size: `about ${(share * volumeL).toFixed(0)} L a day`,
        change: (step) => ({ ...step, acts: [...step.acts, ...exchange(stepL, step.endMs)] }),
      }
    }),
  )
  return {
    id: 'top-up-stuck-open',
    prior: 0.03,
    variants: [...variants, ...onsetsMs.map(runOver)],
    tell: ({ size }) => `The top-up seems stuck open: ${size} ran in and over, so that every ion thins out alike.`,
    check: 'Look at the float valve and at the overflow; close the water until the valve holds.',
  }
}

/** Where the meter counted it, most of what came in ran over again. */
function runOver(sinceMs: number): Variant {
  return {
    sinceMs,
    size: 'most of what the meter counted',
    change: (step) => {
      const overL = OVERFLOW_SHARE * (step.topUpL ?? 0)
      if (overL <= 0) return step
      return { ...step, acts: [...step.acts, { act: 'drained', volumeL: overL, doneAtMs: step.endMs }] }
    },
  }
}

function exchange(volumeL: number, doneAtMs: number): readonly TimedAct[] {
  return [
    { act: 'drained', volumeL, doneAtMs },
    { act: 'topped-up', volumeL, doneAtMs },
  ]
}

function isIn(step: GridStep, atMs: number, settings: CoreSettings): boolean {
  return atMs <= step.endMs && atMs > step.endMs - settings.grid.stepMs
}
