/**
 * Where the documents leave an edge open, the second model knows two answers: the stricter one, with which its first
 * version was written, and the gate’s, which it goes by since (`questions.md` gives the reasons). True is strict.
 */

export interface Answers {
  /** an approval is over at exactly `approvalMs` */
  readonly approvalEndsAtItsTime: boolean
  readonly holdEndsApproval: boolean
  /** standing still is counted to now, not to the last reading */
  readonly stuckToNow: boolean
  readonly stuckOverStart: boolean
  readonly stuckOverNoNumber: boolean
  /** a flow or top-up probe without a time of its own is stuck by the common one */
  readonly meterMayStick: boolean
  /** the flow is known up to its last reading only */
  readonly flowToReading: boolean
  /** a shot that ended exactly one window ago still counts */
  readonly windowClosed: boolean
  /** a shot ended when its news came, even where its command was over before */
  readonly endIsNews: boolean
  /** what is not settled has no end, for gaps, stocks apart and acid */
  readonly unsettledNeverEnds: boolean
  /** a command of which nobody said in time what became of it blocks all pumps of its node */
  readonly overdueBlocksNode: boolean
  readonly acidNeedsFlowProbe: boolean
  readonly needsTemperature: boolean
  /** a totaliser heard before the node’s last boot is not known */
  readonly countsOfThisBoot: boolean
  /** a sensor declared as not fitted tightens even where it is fitted, and once for each declaration */
  readonly declaredTightens: boolean
  /** a heartbeat with the clock of the one before it is a late one */
  readonly sameClockIsLate: boolean
  /** the will of a boot never heard of takes the node away */
  readonly strangeWillCounts: boolean
  /** a report of a command nobody knows is a run nobody asked for, before the totaliser says so */
  readonly strangeReportCounts: boolean
  /** any run longer than asked trips, however little */
  readonly overrunAtOnce: boolean
  /** a command may still start at the very moment named as its last */
  readonly lastMomentStarts: boolean
}

export const STRICTEST: Answers = {
  approvalEndsAtItsTime: true,
  holdEndsApproval: true,
  stuckToNow: true,
  stuckOverStart: true,
  stuckOverNoNumber: true,
  meterMayStick: true,
  flowToReading: true,
  windowClosed: true,
  endIsNews: true,
  unsettledNeverEnds: true,
  overdueBlocksNode: true,
  acidNeedsFlowProbe: true,
  needsTemperature: true,
  countsOfThisBoot: true,
  declaredTightens: true,
  sameClockIsLate: true,
  strangeWillCounts: true,
  strangeReportCounts: true,
  overrunAtOnce: true,
  lastMomentStarts: true,
}

export const SETTLED: Answers = {
  ...(Object.fromEntries(Object.keys(STRICTEST).map((name) => [name, false])) as never as Answers),
  holdEndsApproval: true,
  sameClockIsLate: true,
}
