/**
 * The balance again from the words of the plan alone, solved by an ODE library: logistic water use, a share of the day’s
 * water and growth in the dark, appetite that saturates, ammonium before nitrate, nitrification, denitrification, losses above pH 6.3.
 */

import { createRequire } from 'node:module'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { VOLUME } from '../../../../src/core/estimate/layout.ts'
import type { CoreSettings, CropSettings } from '../../../../src/core/settings.ts'

/** Required, since the library ships its sources, which our compiler would hold to our own rules. */
const { Solver } = createRequire(import.meta.url)('odex') as {
  Solver: new (
    dimension: number,
  ) => {
    absoluteTolerance: number
    relativeTolerance: number
    solve(
      slopes: (x: number, y: number[]) => number[],
      from: number,
      initial: number[],
      until: number,
    ): { readonly y: number[] }
  }
}

const DAY_MS = 86_400_000
const AMMONIUM = ELEMENT_INDEX['NH4-N']
const NITRATE = ELEMENT_INDEX['NO3-N']

/**
 * Amounts in mmol and litres after some days without water, doses or acts.
 *
 * Solved hour by hour, since light comes and goes on the hour (Gragg–Bulirsch–Stoer, tolerance 1e-10).
 */
export function solvedBalance(
  settings: CoreSettings,
  from: Float64Array,
  span: { readonly fromMs: number; readonly days: number; readonly ph: number },
): number[] {
  let amounts = Array.from(from.slice(0, VOLUME + 1))
  const firstDay = span.fromMs / DAY_MS
  for (let hour = 0; hour < 24 * span.days; hour++) {
    const fromDay = firstDay + hour / 24
    const isLit = isLitHour(Math.round(fromDay * 24) % 24)
    const solver = new Solver(amounts.length)
    solver.absoluteTolerance = 1e-10
    solver.relativeTolerance = 1e-10
    // Time is counted from the hour: days since 1970 would leave few digits for a step.
    const slopes = (days: number, y: number[]) => slopesPerDay(settings, y, { day: fromDay + days, isLit, ph: span.ph })
    amounts = solver.solve(slopes, 0, amounts, 1 / 24).y
  }
  return amounts
}

/** The lamps of the test site, 06:00 to 22:00. */
function isLitHour(hour: number): boolean {
  return hour >= 6 && hour < 22
}

function slopesPerDay(
  settings: CoreSettings,
  amounts: readonly number[],
  now: { readonly day: number; readonly isLit: boolean; readonly ph: number },
): number[] {
  const { darkWaterShare, darkGrowthShare } = settings.photoperiod
  const pace = (dark: number): number => (now.isLit ? (1 - dark) / (16 / 24) : dark / (8 / 24))
  const litres = amounts[VOLUME]!
  const wanted = new Float64Array(ELEMENT_COUNT)
  const slopes = new Array<number>(amounts.length).fill(0)
  for (const { crop: id, plants, transplantedAtMs } of settings.cohorts) {
    const crop = settings.crops.find((candidate) => candidate.id === id)!
    const dayL = plants * perPlantL(crop, now.day - transplantedAtMs / DAY_MS)
    slopes[VOLUME]! -= dayL * pace(darkWaterShare)
    for (let at = 0; at < ELEMENT_COUNT; at++) {
      const level = amounts[at]! / litres
      const half = at >= ELEMENT_INDEX.Fe ? 0.001 : at === ELEMENT_INDEX.P ? 0.02 : 0.1
      const driver = crop.drivers[at]
      const full = crop.uptakeMmolPerL[at]! * dayL * pace(driver === 'growth' ? darkGrowthShare : darkWaterShare)
      slopes[at]! -= full * (driver === 'concentration' ? level : level / (level + half))
      if (driver === 'growth') wanted[at]! += full
    }
  }
  slopes[NITRATE]! -= Math.max(0, wanted[AMMONIUM]! + slopes[AMMONIUM]!)
  const nitrified = 0.3 * amounts[AMMONIUM]!
  slopes[AMMONIUM]! -= nitrified
  slopes[NITRATE]! += nitrified - 0.002 * amounts[NITRATE]!
  if (now.ph > 6.3) for (const at of [ELEMENT_INDEX.P, ELEMENT_INDEX.Fe]) slopes[at]! -= 0.01 * amounts[at]!
  return slopes
}

function perPlantL({ waterStartLPerDay, waterFullLPerDay, halfwayDays }: CropSettings, ageDays: number): number {
  return (
    waterStartLPerDay +
    (waterFullLPerDay - waterStartLPerDay) / (1 + Math.exp(-(ageDays - halfwayDays) / (0.3 * halfwayDays)))
  )
}
