/**
 * The sequential test of a stock’s response. Every hypothesis is a multiple k of the declared response, so two sums over
 * the contrasts carry all that their likelihoods say: with A = Σ expected²/sd² and B = Σ expected·seen/sd² the
 * logarithm of the likelihood of k is k·B − k²·A/2, up to a constant.
 */

import type { Seen } from './effect-contrast.ts'
import type { StockEffectState } from './effect-state.ts'
import type { EffectLimits } from './limits.ts'

export type WrongEffect = 'none' | 'too-little' | 'too-much' | 'opposite'

/** Each at its edge: what is worse than the edge is further still from the declared response. */
const MULTIPLE: Readonly<Record<WrongEffect, number>> = { none: 0, 'too-little': 0.5, 'too-much': 2, opposite: -1 }
const WRONG = Object.keys(MULTIPLE) as readonly WrongEffect[]

/** One contrast alone never trips: a probe that was touched looks the same. */
const AGAINST_MIN = 2

export type Evidence = Pick<StockEffectState, 'information' | 'agreement' | 'against'>

/** The evidence with one contrast more. */
export function withSeen(limits: EffectLimits, evidence: Evidence, seen: Seen): Evidence {
  const information = (seen.expectedDsPerM / seen.sdDsPerM) ** 2
  const agreement = (seen.expectedDsPerM * seen.seenDsPerM) / seen.sdDsPerM ** 2
  const alone = strongest(limits, { information, agreement, against: 0 })
  return {
    information: evidence.information + information,
    agreement: evidence.agreement + agreement,
    against: alone.ratio > 0 ? evidence.against + 1 : 0,
  }
}

export type Decision =
  | { readonly decision: 'undecided' }
  | { readonly decision: 'as-declared' }
  | { readonly decision: 'wrong'; readonly wrong: WrongEffect }
  /** no room for another shot, and too little was seen to say anything */
  | { readonly decision: 'unseen' }

/**
 * Wald’s sequential probability ratio test with the declared risks (A. Wald, Sequential Analysis, 1947, ch. 3; from
 * memory), of each wrong response against the declared one at the best point of its tolerance. `isLast`: the cap leaves
 * no room for another shot that shows, so the test is cut off there and the likelier side is taken, provided that
 * enough was seen to expect half of what a decision takes.
 */
export function decide(limits: EffectLimits, evidence: Evidence, isLast: boolean): Decision {
  const tripAt = Math.log((1 - limits.missRisk) / limits.falseTripRisk)
  const verifiedAt = Math.log(limits.missRisk / (1 - limits.falseTripRisk))
  const { wrong, ratio } = strongest(limits, evidence)
  if (ratio >= tripAt && evidence.against >= AGAINST_MIN) return { decision: 'wrong', wrong }
  if (ratio <= verifiedAt) return { decision: 'as-declared' }
  if (!isLast) return { decision: 'undecided' }
  const expected = (evidence.information * (1 - MULTIPLE['too-little']) ** 2) / 2
  if (!(expected >= -verifiedAt / 2)) return { decision: 'unseen' }
  return ratio < 0 ? { decision: 'as-declared' } : { decision: 'wrong', wrong }
}

/** The wrong response that the evidence speaks for most, with its log-likelihood ratio against the declared one. */
function strongest(limits: EffectLimits, evidence: Evidence): { readonly wrong: WrongEffect; readonly ratio: number } {
  const declared = logLikelihood(evidence, declaredMultiple(limits, evidence))
  return WRONG.map((wrong) => ({ wrong, ratio: logLikelihood(evidence, MULTIPLE[wrong]) - declared })).reduce(
    (best, next) => (next.ratio <= best.ratio ? best : next),
  )
}

function logLikelihood({ information, agreement }: Evidence, multiple: number): number {
  return multiple * agreement - (multiple ** 2 * information) / 2
}

/** The point of the tolerance that fits best; the middle of it while nothing was seen. */
function declaredMultiple({ tolerance }: EffectLimits, { information, agreement }: Evidence): number {
  const fits = information > 0 ? agreement / information : 1
  return Math.min(1 + tolerance, Math.max(1 - tolerance, fits))
}
