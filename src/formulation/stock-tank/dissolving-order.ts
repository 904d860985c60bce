// In which order the salts of a tank go into the water. Common practice of the trade, no source.

import type { TankSalt } from './tank-salt.ts'

export interface DissolvingStep {
  readonly salt: TankSalt
  readonly how: 'into the tank' | 'first in a jug of hot water' | 'first in a jug of warm water' | 'last, once cool'
}

/** Less than this in the tank is weighed as a trace: in a jug one sees whether it has dissolved. */
const TRACE_G_PER_L = 1

/**
 * Bulk salts first, the least soluble of them before all, while there is most water and it is warm (nitrates cool it);
 * then traces from a jug, boric acid from a hot one; the iron chelate last, since heat and light break it.
 *
 * @param factor times working strength, in the tank
 * @param shareOf how near each salt is to its solubility, by name; absent is 0
 */
export function dissolvingOrder(
  salts: readonly TankSalt[],
  factor: number,
  shareOf: Readonly<Record<string, number>>,
): readonly DissolvingStep[] {
  const steps = salts.map((salt): DissolvingStep => {
    if (salt.nature === 'iron chelate') return { salt, how: 'last, once cool' }
    if (salt.gPerL * factor >= TRACE_G_PER_L) return { salt, how: 'into the tank' }
    const isBoric = (salt.content.mmolPerG.B ?? 0) > 0
    return { salt, how: isBoric ? 'first in a jug of hot water' : 'first in a jug of warm water' }
  })
  return steps.sort(
    (a, b) =>
      RANK[a.how] - RANK[b.how] ||
      (shareOf[b.salt.name] ?? 0) - (shareOf[a.salt.name] ?? 0) ||
      b.salt.gPerL - a.salt.gPerL,
  )
}

const RANK: Readonly<Record<DissolvingStep['how'], number>> = {
  'into the tank': 0,
  'first in a jug of hot water': 1,
  'first in a jug of warm water': 2,
  'last, once cool': 3,
}
