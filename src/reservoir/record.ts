/**
 * What is kept of a reservoir’s life. Each record is the durable form of one change of state: a restart folds the
 * records since the last snapshot with the same functions that made the change in the first place.
 */

import type { AlarmCondition } from '../core/alarm/alarm-board.ts'
import type { LearnedMark } from '../core/learning/learned.ts'
import type { Delivered, Mode } from '../safety/types.ts'
import type { Act, Instruction, LaboratoryResult, SpotReading } from './input.ts'

/** One grid step of the filter: readings fused over the step, water and doses that came in it. */
export interface FusedObservation {
  readonly endMs: number
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly temperatureC?: number
  readonly levelL?: number
  /** metered make-up in this step; absent where no meter tells */
  readonly topUpL?: number
  readonly flowing?: boolean
  /** share of the step that was lit */
  readonly litShare: number
}

export type LedgerRecord =
  | {
      readonly kind: 'started'
      readonly atMs: number
      readonly controller: string
      readonly term: number
      readonly utcOffsetMin: number
    }
  | { readonly kind: 'observed'; readonly atMs: number; readonly observation: FusedObservation }
  | {
      readonly kind: 'planned'
      readonly atMs: number
      readonly planId: string
      readonly doses: readonly PlannedDose[]
      readonly notes: readonly string[]
    }
  | {
      readonly kind: 'judged'
      readonly atMs: number
      readonly verdict: 'permit' | 'refuse'
      readonly commandId: string
      readonly planId: string
      /** absent for a shot of a plan */
      readonly purpose?: 'ration' | 'calibration'
      /** of a calibration: the inlet hung in plain water, as the person said */
      readonly withWater?: boolean
      readonly node: string
      readonly pump: string
      readonly stock: string
      readonly volumeUl: number
      readonly runMs: number
      readonly boot: string
      readonly startBeforeUptimeMs: number
      readonly term: number
      /** the pump’s totaliser before the shot */
      readonly totalRunMs: number
      /** every figure the verdict was judged on */
      readonly figures: Readonly<Record<string, number | string | boolean | null>>
      /** interlocks that did not hold; empty where permitted */
      readonly why: readonly string[]
      /** what each of them found and allows, one for one, as told to a person; absent in records of earlier versions */
      readonly found?: readonly string[]
    }
  | {
      readonly kind: 'settled'
      readonly atMs: number
      readonly commandId: string
      readonly stock: string
      readonly outcome: 'done' | 'refused' | 'stopped' | 'not-sent' | 'unknown'
      readonly delivered: Delivered
      /** the pump’s totaliser after it, where a report or heartbeat told */
      readonly totalRunMs?: number
      readonly purpose?: 'calibration'
    }
  /** what the readings said of a stock’s effect, and what of it is still not verified */
  | {
      readonly kind: 'effect-judged'
      readonly atMs: number
      readonly stock: string
      readonly decision: 'undecided' | 'as-declared' | 'wrong' | 'unseen'
      readonly unverifiedUl: number
      readonly information: number
      readonly agreement: number
      readonly against: number
      /** absent where nothing could be measured */
      readonly seen?: { readonly expectedDsPerM: number; readonly seenDsPerM: number; readonly sdDsPerM: number }
    }
  | { readonly kind: 'node-boot'; readonly atMs: number; readonly node: string; readonly boot: string }
  | { readonly kind: 'laboratory'; readonly atMs: number; readonly by: string; readonly result: LaboratoryResult }
  /** where the factors of site and crop stood once a report was taken in */
  | { readonly kind: 'learned'; readonly atMs: number; readonly mark: LearnedMark }
  | { readonly kind: 'laboratory-withdrawn'; readonly atMs: number; readonly by: string; readonly id: string }
  /** a report that waits for a person; it moves nothing until it is accepted */
  | {
      readonly kind: 'laboratory-held'
      readonly atMs: number
      readonly by: string
      readonly result: LaboratoryResult
      readonly why: readonly string[]
    }
  | {
      readonly kind: 'laboratory-decided'
      readonly atMs: number
      readonly by: string
      readonly reason: string
      readonly id: string
      readonly decision: 'accept' | 'hold'
    }
  | { readonly kind: 'spot'; readonly atMs: number; readonly by: string; readonly reading: SpotReading }
  | { readonly kind: 'act'; readonly atMs: number; readonly by: string; readonly act: Act }
  | {
      readonly kind: 'instructed'
      readonly atMs: number
      readonly by: string
      readonly reason: string
      readonly instruction: Instruction
    }
  | { readonly kind: 'tripped'; readonly atMs: number; readonly trip: string; readonly why: string }
  | { readonly kind: 'mode'; readonly atMs: number; readonly mode: Mode }
  | {
      readonly kind: 'alarm'
      readonly atMs: number
      readonly alarm: string
      readonly state: AlarmState
      readonly text: string
      /** the figures of when it was raised */
      readonly detail?: string
      readonly under?: string
      readonly untilMs?: number
      readonly by?: string
      readonly raisedAtMs?: number
      readonly told?: number
      readonly isHolding?: boolean
    }
  /** people were told of an alarm for the `told`th time since it was raised */
  | {
      readonly kind: 'notified'
      readonly atMs: number
      readonly alarm: string
      readonly told: number
      readonly to: readonly string[]
    }
  | {
      readonly kind: 'event'
      readonly atMs: number
      readonly event: string
      readonly text: string
      /** what a node said of a command that it would not run, or not to its end; absent in records of earlier versions */
      readonly unwilling?: { readonly commandId: string; readonly reason: string }
    }

export interface PlannedDose {
  readonly stock: string
  readonly volumeUl: number
  /** a sentence a grower understands */
  readonly reason: string
}

/** States as in ISA-18.2; `normal` is none of them. */
export type AlarmState = AlarmCondition
