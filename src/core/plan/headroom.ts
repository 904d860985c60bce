// What the limits still leave, as the core is told it. Structurally the same as what the limits’ keeper publishes:
// the two rooms do not know each other, the reservoir hands the value across.

/** Volumes in integer microlitres, times in epoch or plain milliseconds. */
export interface StockHeadroom {
  readonly stock: string
  /** largest shot that would be permitted now, 0 while anything blocks */
  readonly shotUl: number
  /** what the hour and the day still leave, whatever blocks now */
  readonly hourUl: number
  readonly dayUl: number
  /** what any hour may bring in all, where it is told: older shots leave the window while the interval runs */
  readonly hourMaxUl?: number
  /** least shot that is wanted, where it is told and not 0: smaller doses are gathered until one that large is owed */
  readonly shotMinUl?: number
  /** largest single shot the limits ever allow */
  readonly shotMaxUl: number
  /** least time that must lie between two shots of this stock */
  readonly gapMs: number
  /** earliest moment at which the waits that are only a matter of time are over */
  readonly notBeforeMs: number
  /** interlocks that block now and that waiting alone does not lift */
  readonly blockedBy: readonly string[]
  /** the same in sentences, where they are told */
  readonly blockedWhy?: readonly string[]
  /** largest ration shot that would be permitted now; absent where no ration is approved */
  readonly rationUl?: number
}

/** What a day’s cap leaves of one element, for all stocks together. */
export interface ElementRoom {
  readonly element: string
  readonly roomNg: number
  /** what a microlitre of each stock brings, ng; a stock that is not named brings none */
  readonly ngPerUl: Readonly<Record<string, number>>
}

export interface Headroom {
  /** the one lost probe that an approved ration would stand in for */
  readonly lostProbe?: string
  readonly stocks: readonly StockHeadroom[]
  /** absent where no element is capped */
  readonly elements?: readonly ElementRoom[]
}
