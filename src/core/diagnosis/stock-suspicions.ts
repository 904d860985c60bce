/** Pumps that give less or more than they are told, and batches that are not what their card says. */

import type { GridStep } from '../estimate/grid-step.ts'
import type { CoreSettings } from '../settings.ts'
import type { Suspicion, Variant } from './suspicion.ts'

const WEAK = [0, 0.5, 0.8] as const
/**
 * Another hydrate, a half bag, a double one: 2.05 is anhydrous for heptahydrate magnesium sulfate and 1.44 anhydrous
 * for tetrahydrate calcium nitrate (molar masses 246.5 and 120.4, 236.1 and 164.1 g/mol), and their inverses.
 */
const STRENGTHS = [0.49, 0.69, 1.44, 2.05] as const
/** A run of the pump this small brings nothing that a probe could miss. */
const SEEN_LEAST_ML = 5

/** @param steps what was recorded; a stock that was not dosed since can be accused of nothing */
export function stockSuspicions(
  settings: CoreSettings,
  steps: readonly GridStep[],
  onsetsMs: readonly number[],
): readonly Suspicion[] {
  return settings.stocks.flatMap((stock, stockIndex) => {
    const seen = onsetsMs.filter((sinceMs) => dosedMl(steps, stockIndex, sinceMs) >= SEEN_LEAST_ML)
    const refills = refillsOf(steps, stockIndex).filter((at) => dosedMl(steps, stockIndex, at) >= SEEN_LEAST_ML)
    return [
      ...(seen.length === 0 ? [] : [pumpWeak(stock.id, stockIndex, seen)]),
      ...(refills.length === 0 ? [] : [otherBatch(stock.id, stockIndex, refills)]),
    ]
  })
}

function dosedMl(steps: readonly GridStep[], stockIndex: number, sinceMs: number): number {
  let sumMl = 0
  for (const step of steps) {
    if (step.endMs <= sinceMs) continue
    for (const dose of step.doses) if (dose.stockIndex === stockIndex) sumMl += dose.highMl
  }
  return sumMl
}

function refillsOf(steps: readonly GridStep[], stockIndex: number): readonly number[] {
  return steps.flatMap((step) =>
    step.acts.flatMap((act) => (act.act === 'stock-refilled' && act.stockIndex === stockIndex ? [act.doneAtMs] : [])),
  )
}

function delivering(stockIndex: number, factor: number): Variant['change'] {
  return (step) => {
    if (!step.doses.some((dose) => dose.stockIndex === stockIndex)) return step
    const doses = step.doses.map((dose) =>
      dose.stockIndex === stockIndex ? { ...dose, lowMl: dose.lowMl * factor, highMl: dose.highMl * factor } : dose,
    )
    return { ...step, doses }
  }
}

function pumpWeak(stock: string, stockIndex: number, onsetsMs: readonly number[]): Suspicion {
  const variants = onsetsMs.flatMap((sinceMs) =>
    WEAK.map((factor): Variant => {
      const size = factor === 0 ? 'nothing' : `about ${(factor * 100).toFixed(0)} %`
      return { sinceMs, size, change: delivering(stockIndex, factor) }
    }),
  )
  return {
    id: `pump-weak ${stock}`,
    prior: 0.03,
    variants,
    tell: ({ size }) => `The pump of ${stock} seems to deliver ${size} of what it is told.`,
    check: `Look whether the bottle of ${stock} is empty, the tube split or full of air; then run the pump into a measuring glass.`,
  }
}

function otherBatch(stock: string, stockIndex: number, refillsMs: readonly number[]): Suspicion {
  const variants = refillsMs.flatMap((sinceMs) =>
    STRENGTHS.map((factor): Variant => {
      return { sinceMs, size: `about ${factor.toFixed(1)} times`, change: delivering(stockIndex, factor) }
    }),
  )
  return {
    id: `batch ${stock}`,
    prior: 0.05,
    variants,
    tell: ({ size }) =>
      `The batch of ${stock} mixed then seems ${size} as strong as its card says: another hydrate, or a slip in weighing.`,
    check: `Dilute ${stock} 1:100 and compare its EC with the batch card; read the bag for the hydrate.`,
  }
}
