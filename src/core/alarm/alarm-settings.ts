/** Limits and delays of alarms, resolved once from the site file; ms, °C, L/h. */
export interface AlarmSettings {
  readonly flowDelayMs: number
  readonly nodeSilentMs: number
  readonly probeSilentMs: number
  readonly levelDelayMs: number
  readonly waterWarmC: number
  readonly waterColdC: number
  readonly waterDelayMs: number
  /** water that may leave in an hour before it is called a loss */
  readonly waterLossMaxLPerH: number
  readonly rangeDelayMs: number
  readonly conductivityDriftShare: number
  readonly phDrift: number
  readonly doubtDelayMs: number
  readonly refusedCount: number
  readonly runsOutMs: number
  readonly stockLeftShare: number
  readonly stockLeftDays: number
  readonly sampleDueMs: number
  readonly sampleOverdueMs: number
  readonly unmeetableDelayMs: number
  readonly escalation: EscalationSettings
}

export interface EscalationSettings {
  /** names in the order in which they are told; nobody is told where it is empty */
  readonly people: readonly string[]
  readonly nextAfterMs: number
  readonly repeatMs: number
}
