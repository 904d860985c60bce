import { type Interlock, stillToWait } from './interlock.ts'
import { tellDuration, tellVolume } from './wording.ts'

/** What raw readings have not yet shown of a stock stays small. */
export const EFFECT_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'unproven-bounded',
    rule: 'What went out of a stock and was not yet seen on the probes stays under its cap.',
    on: 'amount',
    holds: (wish, facts) => !facts.effectChecked || facts.unverifiedUl + wish.volumeUl <= facts.unverifiedMaxUl,
    found: (wish, facts) =>
      Number.isNaN(facts.unverifiedMaxUl)
        ? `the limits or the level do not say how much of ${wish.stock} may go out before its effect is seen`
        : `the effect of ${tellVolume(facts.unverifiedUl)} is not proven yet, at most ` +
          `${tellVolume(facts.unverifiedMaxUl)} may wait for it; look at the conductivity probe and the stock`,
  },
  {
    id: 'effect-proven',
    rule: 'While the effect of a shot is being measured, no other shot follows that would blur it.',
    on: 'condition',
    holds: (_wish, facts) => !facts.effectChecked || facts.effectWaitMs <= 0,
    found: (wish, facts) =>
      Number.isNaN(facts.effectWaitMs)
        ? `the limits do not say how the effect of ${wish.stock} is checked; add effect to the limits`
        : `the effect of the last shot is being measured for another ${tellDuration(facts.effectWaitMs)}`,
    waitMs: (_wish, facts) => stillToWait(facts.effectWaitMs, 0),
  },
]
