/** One thing that may have gone wrong unseen, in several sizes and onsets, each as a change of what was recorded. */

import type { GridStep } from '../estimate/grid-step.ts'

export interface Variant {
  /** a step of the recorded course as it would have been recorded had this been known; steps before `sinceMs` stay */
  readonly change: (step: GridStep) => GridStep
  readonly sinceMs: number
  /** how large, for the sentence */
  readonly size: string
}

export interface Suspicion {
  readonly id: string
  /** chance of it in any five days before anything was read; relative to the others. Judgements */
  readonly prior: number
  readonly variants: readonly Variant[]
  /** what happened, as a sentence about the likeliest variant */
  readonly tell: (variant: Variant) => string
  /** what a person can do to find out */
  readonly check: string
}
