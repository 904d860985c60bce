/**
 * Everything the reservoir asks of the world. The driver commits every `record` of a step first and only then sends
 * the step’s `command`; a withdrawn `lease` goes out at once, whatever the disk does.
 */

import type { Notice } from '../core/alarm/escalation.ts'
import type { PermittedShot } from '../safety/permitted-shot.ts'
import type { AlarmState, LedgerRecord } from './record.ts'

export type Effect =
  /** run a pump: the message for the node is `toCommandMessage(shot)` */
  | { readonly kind: 'command'; readonly shot: PermittedShot }
  /** permission for a node to run pumps; renew it while `allowed`, send 0 when it is withdrawn */
  | { readonly kind: 'lease'; readonly node: string; readonly allowed: boolean; readonly why: string }
  | {
      readonly kind: 'alarm'
      readonly alarm: string
      readonly state: AlarmState
      readonly priority: 'urgent' | 'high' | 'low'
      readonly text: string
      /** the alarm whose consequence it is, while `suppressed` */
      readonly under?: string
      /** the end of its shelving */
      readonly untilMs?: number
      /** who acknowledged or shelved it */
      readonly by?: string
    }
  /** a line for the log that a grower can follow; with a `notice`, one that named people must be told */
  | { readonly kind: 'notification'; readonly event: string; readonly text: string; readonly notice?: Notice }
  | { readonly kind: 'record'; readonly record: LedgerRecord }
