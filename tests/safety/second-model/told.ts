/**
 * Everything the gate was ever told, kept raw and in order. The second model keeps nothing else: each question is
 * answered from the whole list, from scratch, so that no forgotten update can make it agree with the gate by accident.
 */

import type { EdgeWord } from '../../../src/safety/on-edge.ts'
import type { onHeartbeat } from '../../../src/safety/on-heartbeat.ts'
import type { SafetyInstruction } from '../../../src/safety/on-instruction.ts'
import type { NodeStatus } from '../../../src/safety/on-node-status.ts'
import type { RoleReading } from '../../../src/safety/on-readings.ts'
import type { Report } from '../../../src/safety/on-report.ts'
import type { ShotWish } from '../../../src/safety/types.ts'

export type Heartbeat = Parameters<typeof onHeartbeat>[2]['heartbeat']

/** What a shot that went out was, as its command says. */
export interface Sent {
  readonly id: string
  readonly node: string
  readonly pump: string
  readonly runMs: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
}

export type Told =
  | { readonly kind: 'start'; readonly atMs: number; readonly controller: string; readonly term: number }
  | { readonly kind: 'status'; readonly atMs: number; readonly node: string; readonly status: NodeStatus }
  | { readonly kind: 'heartbeat'; readonly atMs: number; readonly node: string; readonly heartbeat: Heartbeat }
  | {
      readonly kind: 'readings'
      readonly atMs: number
      readonly node: string
      readonly readings: readonly RoleReading[]
    }
  | {
      readonly kind: 'report'
      readonly atMs: number
      readonly node: string
      readonly pump: string
      readonly report: Report
    }
  | { readonly kind: 'edge'; readonly atMs: number; readonly news: EdgeWord }
  | {
      readonly kind: 'instruction'
      readonly atMs: number
      readonly by: string
      readonly reason: string
      readonly instruction: SafetyInstruction
    }
  | { readonly kind: 'tick'; readonly atMs: number }
  | { readonly kind: 'shot'; readonly atMs: number; readonly wish: ShotWish; readonly sent: Sent }

/** Where the last start stands that raised the term, or -1: what was seen before it is not to be relied on. */
export function lastStartIndex(told: readonly Told[]): number {
  let highest = -1
  let found = -1
  told.forEach((event, index) => {
    if (event.kind !== 'start') return
    // A start that does not raise the term belongs to an older daemon: nothing may go until a higher one comes.
    const isNewer = Number.isSafeInteger(event.term) && event.term > highest
    found = isNewer ? index : -1
    if (isNewer) highest = event.term
  })
  return found
}
