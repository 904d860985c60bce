/** What the alarms look at, handed in as data; absent means that nothing tells. */
export interface AlarmFacts {
  readonly atMs: number
  readonly isLinkUp: boolean
  readonly isDiskWritable: boolean
  readonly isClockSane: boolean
  readonly nodes: readonly NodeFact[]
  /** for how long no scan with a plausible value has come, ms */
  readonly scanSilentMs: number
  readonly probes: readonly ProbeFact[]
  /** leak probes that are wet */
  readonly wet: readonly string[]
  readonly flowLPerMin?: number
  readonly flowMinLPerMin: number
  readonly temperatureC?: number
  readonly levelL?: number
  readonly levelMinL: number
  readonly levelMaxL: number
  /** water that leaves, whether the level falls or make-up replaces it, L/h; only in a steady flow state */
  readonly waterLossLPerH?: number
  readonly waterLossMaxLPerH: number
  readonly conductivityDsPerM?: number
  readonly conductivityMinDsPerM: number
  readonly conductivityMaxDsPerM: number
  readonly ph?: number
  readonly phMin: number
  readonly phMax: number
  readonly doubts: readonly DoubtFact[]
  /** probes that made the estimate give way and were not calibrated since */
  readonly walked: readonly { readonly probe: string; readonly role: string; readonly text: string }[]
  readonly trips: readonly { readonly trip: string; readonly why: string }[]
  /** wishes refused one after another since the last one that was permitted */
  readonly refused: { readonly count: number; readonly why: string }
  /** nothing is dosed, and an element will be short; absent while doses may go */
  readonly runsOut?: { readonly inMs: number; readonly text: string }
  /** a ration stands in for plans, and why; absent while none does */
  readonly ration?: string
  readonly stocks: readonly StockFact[]
  /** the newest accepted bottle, or the first fill where there was none; absent before a start */
  readonly sample?: SampleFact
  readonly unmeetable: readonly { readonly element: string; readonly text: string }[]
}

export interface SampleFact {
  readonly ageMs: number
  /** when it was filled, as the site counts days */
  readonly day: string
  readonly isFirstFill: boolean
}

export interface NodeFact {
  readonly node: string
  /** for how long it has sent no heartbeat, ms */
  readonly silentMs: number
}

export interface ProbeFact {
  readonly probe: string
  readonly node: string
  readonly role: string
  /** for how long it has shown nothing plausible, ms */
  readonly silentMs: number
  /** it shows the very same value for longer than a living probe does */
  readonly isStuck: boolean
}

/** A probe that reads otherwise than the balance of everything else says. */
export interface DoubtFact {
  readonly role: 'conductivity' | 'ph'
  /** how far off, in the limits that stand for it: 1 is at the limit */
  readonly ofLimit: number
  readonly text: string
}

export interface StockFact {
  readonly stock: string
  readonly leftMl: number
  /** what is left, as a share of what was filled in */
  readonly leftShare: number
  /** at the rate of use since the refill; absent in its first day */
  readonly leftDays?: number
}
