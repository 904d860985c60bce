import { beforeAll, describe, expect, it } from 'vitest'
import { advance } from '../../../../src/core/estimate/advance.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../../src/core/estimate/grid-step.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, STEP_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

/** `npm run campaign -- steps 1000000` runs the nineteen years. */
const STEPS = Number(process.env['TARNWARD_STEPS'] ?? 5000)
const LOOKS = 20

let settings: CoreSettings
beforeAll(async () => {
  settings = await quarryLaneCore()
})

/** Readings that wander and now and then jump, doses and water as they come, a bottle every two weeks. */
function stepAt(count: number, endMs: number): GridStep {
  const wave = Math.sin(count / 37) + 0.3 * Math.sin(count / 1009)
  const jump = count % 4001 > 3990 ? 1.5 : 1
  const lowMl = count % 6 === 0 ? 4 : 0
  return {
    ...{ endMs, litShare: count % 144 < 96 ? 1 : 0, flowing: count % 900 > 3 },
    conductivityDsPerM: 1.75 * (1 + 0.03 * wave) * jump,
    ...{ ph: 5.9 + 0.2 * wave, levelL: 208 + 2 * wave, topUpL: 0.06 },
    doses:
      lowMl > 0 ? [{ atMs: endMs - 1, stockIndex: count % 3, commandId: `c${count}`, lowMl, highMl: lowMl + 0.2 }] : [],
    acts: count % 5000 === 99 ? [{ act: 'drained', volumeL: 30, doneAtMs: endMs }] : [],
    laboratory: count % 2016 === 0 ? [bottle(count, endMs)] : [],
  }
}

function bottle(count: number, sampledAtMs: number): GridStep['laboratory'][number] {
  const values = [3, 4, 5].map((elementIndex) => ({ elementIndex, mmolPerL: 3 + Math.sin(count), sdMmolPerL: 0.2 }))
  return { id: `r${count}`, sampledAtMs, values }
}

/** Least pivot of a Cholesky decomposition of the correlations: below zero, some direction has a variance below nothing. */
function leastPivot({ covariance, mean }: FilterState): number {
  const n = mean.length
  const sd = mean.map((_value, at) => Math.sqrt(covariance[at * n + at]!))
  const lower = Array.from({ length: n }, () => new Float64Array(n))
  let least = Number.POSITIVE_INFINITY
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = covariance[row * n + column]! / (sd[row]! * sd[column]!)
      for (let at = 0; at < column; at++) sum -= lower[row]![at]! * lower[column]![at]!
      if (row === column) least = Math.min(least, sum)
      lower[row]![column] = row === column ? Math.sqrt(Math.max(sum, 1e-14)) : sum / lower[column]![column]!
    }
  }
  return least
}

describe('a filter that has run for years', () => {
  it(`still has a finite belief and a symmetric covariance that is below nothing nowhere (${STEPS} steps)`, () => {
    let filter = initialFilterState(settings, NOON_MS)
    for (let count = 1; count <= STEPS; count++) {
      filter = advance(settings, settings.cohorts, filter, stepAt(count, NOON_MS + count * STEP_MS))
      if (count % Math.floor(STEPS / LOOKS) !== 0) continue
      const n = filter.mean.length
      expect(filter.mean.every(Number.isFinite) && filter.covariance.every(Number.isFinite)).toBe(true)
      for (let at = 0; at < n * n; at++)
        expect(filter.covariance[at] === filter.covariance[(at % n) * n + Math.floor(at / n)]).toBe(true)
      expect(leastPivot(filter)).toBeGreaterThan(-1e-9)
      // The level read 205.7 to 210.4 L all the time, now and then after a drain of 30 L.
      expect(levelsOf(filter).volumeL).toBeGreaterThan(170)
      expect(levelsOf(filter).volumeL).toBeLessThan(220)
      expect(Math.max(...levelsOf(filter).mmolPerL)).toBeLessThanOrEqual(200)
    }
  }, 3_600_000)
})
