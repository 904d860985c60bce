/** Rows that are asked only of a ration, or only of a run into a measuring glass. */

import type { RationStock } from '../../../src/safety/limits.ts'
import { notBlank } from './history.ts'
import { isLost, litresOf } from './probe-story.ts'
import { type Asked, coveredLoss, DAY_MS, isFitted, type Rows, sumUl } from './wish-facts.ts'

/** Without the section there is no figure for any of these rows. */
export const RATION: Rows = Object.fromEntries(
  Object.entries({
    'ration-approved': ({ past, nowMs }) => {
      const { ration } = past.limits
      const ageMs = nowMs - (past.people.rationMs ?? NaN)
      if (ration === undefined || !notBlank(ration.reason)) return false
      return ration.lastsMs > 0 && ageMs >= 0 && ageMs <= ration.lastsMs
    },
    'ration-stock': (it) => {
      const { entry } = it
      return entry !== null && (rationOf(it)?.ulPerL ?? NaN) > 0 && entry.acid !== true && entry.base !== true
    },
    'ration-loss': (it) => {
      const { past, nowMs } = it
      if (coveredLoss(it) !== null) return true
      const none = past.probes.every((one) => !isLost(past.limits, one, nowMs))
      return none && past.limits.ration?.covers.includes('estimator') === true
    },
    'ration-water': (it) => {
      const ageMs = it.nowMs - it.past.meter.lastMs
      return isFitted(it, 'level') && isFitted(it, 'flow') && ageMs >= 0 && ageMs <= it.past.limits.scanAgeMaxMs
    },
    'ration-metered': (it) => {
      const mayUl = Math.floor((rationOf(it)?.ulPerL ?? NaN) * litresOf(it.past.meter, it.nowMs, DAY_MS) + 1e-6)
      return dayUl(it) + it.wish.volumeUl <= mayUl
    },
    'ration-day-bounded': (it) => dayUl(it) + it.wish.volumeUl <= (rationOf(it)?.dayMaxUl ?? NaN),
  } satisfies Rows).map(([name, holds]) => [name, (it: Asked) => it.past.limits.ration !== undefined && holds(it)]),
)

function rationOf({ past, wish }: Asked): RationStock | undefined {
  return past.limits.ration?.stocks.find((one) => one.stock === wish.stock)
}

function dayUl(it: Asked): number {
  return sumUl(it, DAY_MS, (one) => one.stock === it.wish.stock)
}

export const CALIBRATION: Rows = {
  'calibration-declared': ({ entry }) =>
    (entry?.calibration?.runMaxUl ?? NaN) > 0 && (entry?.calibration?.dayMaxUl ?? NaN) > 0,
  'calibration-observes': ({ past }) => past.people.mode === 'observe',
  'calibration-by-water': ({ wish, entry }) =>
    wish.withWater === true || (entry?.acid !== true && entry?.base !== true),
  'calibration-run-bounded': ({ wish, entry }) => wish.volumeUl <= (entry?.calibration?.runMaxUl ?? NaN),
  'calibration-day-bounded': (it) => {
    const runUl = sumUl(it, DAY_MS, (one) => one.stock === it.wish.stock && one.isCalibration)
    return runUl + it.wish.volumeUl <= (it.entry?.calibration?.dayMaxUl ?? NaN)
  },
}
