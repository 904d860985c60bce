/** Something that keeps a simulated plant: our reservoir, or a baseline to compare it with. */

import type { DaemonMessage } from '../contract/message.ts'
import type { Input } from '../reservoir/input.ts'

export interface Outgoing {
  readonly node: string
  readonly sent: DaemonMessage
}

/** What a controller believes of one element, mg/L. */
export interface Belief {
  readonly mgPerL: number
  readonly sdMgPerL: number
}

export interface Controller {
  /** Takes one input and answers with messages for the nodes. */
  handle(input: Input): readonly Outgoing[]
  /** Litres to let go and replace by fresh water (dosed back up) or by a whole new fill; 0 for nothing. */
  dump?(atMs: number): 'nothing' | 'new-fill'
  /** litres that a person is asked to let go now; undefined for none */
  renewalL?(): number | undefined
  /** By element name; undefined for a controller that estimates nothing. */
  belief?(): Readonly<Record<string, Belief>> | undefined
  /** whether the site’s limits are its promise; the baselines stand for practice without any */
  readonly keepsLimits: boolean
  readonly refused: number
  readonly unknown: number
  readonly alarms: readonly string[]
}
