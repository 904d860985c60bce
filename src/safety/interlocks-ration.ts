import type { Facts } from './facts.ts'
import { type Interlock, isCalibration } from './interlock.ts'
import { coveredLoss, rationMeteredUl } from './ration-facts.ts'
import type { ShotWish } from './types.ts'
import { tellDuration, tellValue, tellVolume } from './wording.ts'

/** What a dose without one of the probes must keep to; rows that do not concern any other dose. */
export const RATION_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'ration-approved',
    rule: 'A ration runs only where the limits allow one and a technician approved it beforehand, for some days.',
    on: 'condition',
    holds: (wish, facts) =>
      isNone(wish) ||
      (facts.rationReason.trim() !== '' &&
        facts.rationBy !== null &&
        facts.rationAgeMs >= 0 &&
        facts.rationLastsMs > 0 &&
        facts.rationAgeMs <= facts.rationLastsMs),
    found: (_wish, facts) => tellApproval(facts),
  },
  {
    id: 'ration-stock',
    rule: 'Only stocks that the limits name have a ration, and never an acid or a base.',
    on: 'condition',
    holds: (wish, facts) => isNone(wish) || (facts.rationUlPerL > 0 && !facts.isAcid && !facts.isBase),
    found: (wish) => `${wish.stock} has no ration; acid and base never have one`,
  },
  {
    id: 'ration-loss',
    rule: 'A ration stands in for exactly one lost EC or pH probe, or for the estimate while every probe is well.',
    on: 'condition',
    holds: (wish, facts) =>
      isNone(wish) ||
      (facts.lost.length === 0 ? facts.rationCovers.includes('estimator') : coveredLoss(facts) !== null),
    found: (_wish, facts) => tellLoss(facts),
  },
  {
    id: 'ration-water',
    rule: 'A ration needs a make-up meter that lives, and a level and a flow that are measured.',
    on: 'condition',
    holds: (wish, facts, limits) =>
      isNone(wish) ||
      (facts.levelFitted && facts.flowFitted && facts.meterAgeMs >= 0 && facts.meterAgeMs <= limits.scanAgeMaxMs),
    found: (_wish, facts) =>
      facts.levelFitted && facts.flowFitted
        ? `the make-up meter was read ${tellDuration(facts.meterAgeMs)} ago; without it nothing says how much is due`
        : 'without a level and a flow probe there is no ration',
  },
  {
    id: 'ration-metered',
    rule: 'What went in of a stock within 24 h stays in proportion to the make-up water of the same time.',
    on: 'amount',
    holds: (wish, facts) => isNone(wish) || facts.dayUl + wish.volumeUl <= rationMeteredUl(facts),
    found: (_wish, facts) =>
      `${tellVolume(facts.dayUl)} went in or may have gone in within 24 h; ${tellValue(facts.makeUpDayL)} L of metered ` +
      `make-up water allow ${tellVolume(rationMeteredUl(facts))}`,
  },
  {
    id: 'ration-day-bounded',
    rule: 'A ration has a cap of its own for the day.',
    on: 'amount',
    holds: (wish, facts) => isNone(wish) || facts.dayUl + wish.volumeUl <= facts.rationDayMaxUl,
    found: (_wish, facts) =>
      `${tellVolume(facts.dayUl)} went in or may have gone in within 24 h, a ration goes up to ` +
      tellVolume(facts.rationDayMaxUl),
  },
]

/** A purpose that is neither none nor a calibration is judged as a ration, so that a word nobody knows opens nothing. */
function isNone(wish: ShotWish): boolean {
  return wish.purpose === undefined || isCalibration(wish)
}

function tellApproval(facts: Facts): string {
  if (facts.rationReason.trim() === '') return 'the limits file allows no ration'
  if (facts.rationBy === null) return 'no technician has approved a ration'
  return (
    `the ration that ${facts.rationBy} approved ${tellDuration(facts.rationAgeMs)} ago was good for ` +
    `${tellDuration(facts.rationLastsMs)}; look at the site, then approve it again`
  )
}

function tellLoss({ lost, rationCovers }: Facts): string {
  const covered = rationCovers.length === 0 ? 'nothing' : rationCovers.join(', ')
  if (lost.length === 0) return `every probe is well, and the ration covers ${covered}`
  return `lost: ${lost.map(({ id, role }) => `${id} (${role})`).join(', ')}; the ration covers one of ${covered}`
}
