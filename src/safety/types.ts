/**
 * Safety’s own words. It trusts nobody: own limits, own sums, raw readings, no estimator.
 * Volumes are integer microlitres, durations integer milliseconds, conductivity dS/m at 25 °C.
 */

export type Mode = 'observe' | 'advise' | 'automatic'

/** What the core would like to deliver: one pump run of one stock. */
export interface ShotWish {
  readonly stock: string
  readonly volumeUl: number
  readonly planId: string
  /**
   * `ration`: by the make-up meter alone, while a probe or the estimator is lost; `calibration`: a person asked for this
   * very run, into a measuring glass
   */
  readonly purpose?: 'ration' | 'calibration'
  /** of a calibration: the inlet hangs in plain water, as the person said */
  readonly withWater?: boolean
}

/** What was or may have been delivered: `high` counts against every limit. */
export interface Delivered {
  readonly lowUl: number
  readonly highUl: number
}

/**
 * What the limits still leave for one stock, told to the core as data, so that a refusal is a fault and
 * not the normal way of being limited.
 */
export interface StockHeadroom {
  readonly stock: string
  /** largest shot that would be permitted now, 0 while anything blocks */
  readonly shotUl: number
  /** what the hour and the day still leave, whatever blocks now */
  readonly hourUl: number
  readonly dayUl: number
  /** what any hour may bring in all: the room of the hours to come, as older shots leave the window */
  readonly hourMaxUl: number
  /** least shot that is wanted, so that its effect is seen; 0 where any size will do. A smaller one is not refused. */
  readonly shotMinUl: number
  /** largest single shot the limits ever allow */
  readonly shotMaxUl: number
  /** least time that must lie between two shots of this stock */
  readonly gapMs: number
  /** earliest moment at which the waits that are only a matter of time are over */
  readonly notBeforeMs: number
  /** interlocks that block now and that waiting alone does not lift */
  readonly blockedBy: readonly string[]
  /** the same as a person would be told, one for one */
  readonly blockedWhy: readonly string[]
  /** largest ration shot that would be permitted now; absent where no ration is approved */
  readonly rationUl?: number
}

/** What a day’s cap leaves of one element, for all stocks together: the room of one is the room of each only once. */
export interface ElementRoom {
  readonly element: string
  /** whole nanograms; 0 where a figure is none */
  readonly roomNg: number
  /** what a microlitre of each stock brings, ng; stocks that bring none are left out */
  readonly ngPerUl: Readonly<Record<string, number>>
}

export interface Headroom {
  /** the one lost probe that a ration stands in for; absent where none is lost, or more than one */
  readonly lostProbe?: string
  readonly stocks: readonly StockHeadroom[]
  /** one for every capped element that a stock brings; absent where the limits cap none */
  readonly elements?: readonly ElementRoom[]
}
