/** What the alarms look at, handed in as data; absent means that nothing tells. */
export interface AlarmFacts {
  readonly atMs: number
  /** for how long no scan with a plausible value has come, ms */
  readonly scanSilentMs: number
  /** for how long a node has been offline or without heartbeat, ms; the longest of all nodes */
  readonly nodeSilentMs: number
  readonly flowLPerMin?: number
  readonly flowMinLPerMin: number
  readonly temperatureC?: number
  readonly levelL?: number
  readonly levelMinL: number
  readonly levelMaxL: number
  readonly ph?: number
  readonly phMin: number
  readonly phMax: number
  readonly trips: readonly string[]
  readonly isDiskWritable: boolean
}
