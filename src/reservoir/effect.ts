/**
 * Everything the reservoir asks of the world. The driver commits every `record` of a step first and only then sends
 * the step’s `command`; a withdrawn `lease` goes out at once, whatever the disk does.
 */

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
    }
  /** a line for the log that a grower can follow */
  | { readonly kind: 'notification'; readonly event: string; readonly text: string }
  | { readonly kind: 'record'; readonly record: LedgerRecord }
