/**
 * Everything that can happen to a reservoir. `step` takes one of these at a time, in order of `atMs`
 * (the time of arrival, epoch milliseconds UTC, never decreasing). An outside driver needs nothing else:
 * send `start`, then node messages as they come, and a `tick` at least once a minute.
 */

import type { Composition, ElementName } from '../chemistry/element.ts'
import type { HeartbeatMessage, ReportMessage, ScanMessage, StatusMessage } from '../contract/message.ts'

/** A new process, or a new driver, takes the reservoir over. `term` must be higher than any before. */
export interface StartInput {
  readonly kind: 'start'
  readonly atMs: number
  readonly controller: string
  readonly term: number
  /** minutes east of UTC of the site’s zone now; the photoperiod is told in local time */
  readonly utcOffsetMin: number
}

export interface NodeStatusInput {
  readonly kind: 'node-status'
  readonly atMs: number
  readonly node: string
  readonly status: StatusMessage
}

export interface HeartbeatInput {
  readonly kind: 'heartbeat'
  readonly atMs: number
  readonly node: string
  readonly heartbeat: HeartbeatMessage
}

export interface ScanInput {
  readonly kind: 'scan'
  readonly atMs: number
  readonly node: string
  readonly scan: ScanMessage
}

export interface PumpReportInput {
  readonly kind: 'pump-report'
  readonly atMs: number
  readonly node: string
  readonly pump: string
  readonly report: ReportMessage
}

/** One analyte of a laboratory result, in mg/L of the element; below a detection limit it is an interval from 0. */
export type LaboratoryValue =
  | { readonly element: string; readonly mgPerL: number; readonly sdMgPerL?: number }
  | { readonly element: string; readonly belowMgPerL: number }

export interface LaboratoryResult {
  readonly id: string
  /** when the bottle was filled, not when the report was written */
  readonly sampledAtMs: number
  readonly values: readonly LaboratoryValue[]
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly alkalinityMeqPerL?: number
}

export interface LaboratoryInput {
  readonly kind: 'laboratory-result'
  readonly atMs: number
  readonly by: string
  /** replaces an earlier result of the same id */
  readonly result: LaboratoryResult
  /** a person has seen what it would do and accepts it, however far from the estimate it is */
  readonly isAccepted?: boolean
}

export interface LaboratoryWithdrawalInput {
  readonly kind: 'laboratory-withdrawal'
  readonly atMs: number
  readonly by: string
  readonly id: string
}

/** What a person read with a device in the hand: mg/L of an element, conductivity in dS/m at 25 °C, or pH. */
export interface SpotReading {
  readonly quantity: ElementName | 'conductivity' | 'ph'
  readonly value: number
  /** its own standard deviation in the same unit, as the maker states it */
  readonly sd?: number
  readonly readAtMs: number
}

export interface SpotReadingInput {
  readonly kind: 'spot-reading'
  readonly atMs: number
  /** the person, or person and device: readings of one name are trusted together */
  readonly by: string
  readonly reading: SpotReading
}

/** A person’s word on a report: `accept` one that is held, or `hold` one, which takes it out of the estimate. */
export interface LaboratoryDecisionInput {
  readonly kind: 'laboratory-decision'
  readonly atMs: number
  readonly by: string
  readonly reason: string
  readonly id: string
  readonly decision: 'accept' | 'hold'
}

/** Something a person did to the water or the crop, at `doneAtMs`. */
export type Act =
  | { readonly act: 'salt-added'; readonly doneAtMs: number; readonly salt: string; readonly massG: number }
  | { readonly act: 'drained'; readonly doneAtMs: number; readonly volumeL: number }
  | { readonly act: 'topped-up'; readonly doneAtMs: number; readonly volumeL: number }
  | {
      readonly act: 'stock-refilled'
      readonly doneAtMs: number
      readonly stock: string
      readonly volumeMl: number
      readonly batch?: Batch
    }
  | { readonly act: 'bottle-weighed'; readonly doneAtMs: number; readonly stock: string; readonly massG: number }
  /** part or all of the solution let go and filled up again; with make-up water where no `fill` in mg/L is given */
  | {
      readonly act: 'changed'
      readonly doneAtMs: number
      readonly drainedL: number
      readonly filledL: number
      readonly fill?: Composition
    }
  | {
      readonly act: 'transplanted'
      readonly doneAtMs: number
      readonly crop: string
      readonly plants: number
      readonly cohort: string
    }
  | { readonly act: 'harvested'; readonly doneAtMs: number; readonly cohort: string }
  /** after sanitising: the system was rinsed, and then its probes were checked in a known solution */
  | { readonly act: 'rinsed'; readonly doneAtMs: number }
  | { readonly act: 'probe-checked'; readonly doneAtMs: number }
  /** a note on the crop, or on anything else; changes nothing */
  | { readonly act: 'noted'; readonly doneAtMs: number; readonly text: string; readonly about?: 'sample' }

/** One mixing of a stock. */
export interface Batch {
  /** what is written on the bottle: lots, date, who */
  readonly label?: string
  /** over what the recipe says: 0.5 for half a bag, 1.22 where an anhydrous salt was weighed for its hydrate */
  readonly strength?: number
}

export interface ActInput {
  readonly kind: 'act'
  readonly atMs: number
  readonly by: string
  readonly act: Act
}

export type Mode = 'observe' | 'advise' | 'automatic'

export type Instruction =
  | { readonly instruction: 'mode'; readonly mode: Mode }
  | { readonly instruction: 'approve'; readonly planId: string }
  | { readonly instruction: 'hold' }
  | { readonly instruction: 'release' }
  /** what may go on by the make-up meter alone while a probe or the estimator is lost, approved beforehand */
  | { readonly instruction: 'ration'; readonly decision: 'approve' | 'withdraw' }
  | { readonly instruction: 'reset'; readonly trip: string }
  | { readonly instruction: 'sanitise'; readonly phase: 'begin' | 'end' }
  | { readonly instruction: 'acknowledge'; readonly alarm: string }
  | { readonly instruction: 'shelve'; readonly alarm: string; readonly untilMs: number }
  | { readonly instruction: 'unshelve'; readonly alarm: string }
  | { readonly instruction: 'calibrate'; readonly probe: string; readonly slope: number; readonly offset: number }
  /** `was`: what the person saw, where another value is a conflict; `fileValue`: what the file said, in records */
  | {
      readonly instruction: 'limit'
      readonly limit: string
      readonly value: number
      readonly was?: number
      readonly fileValue?: number
    }
  /** what was learned of crop and probe is forgotten */
  | { readonly instruction: 'reset-learning' }
  | { readonly instruction: 'pump-rate'; readonly stock: string; readonly rateMlPerMin: number }
  /** one run into a measuring glass, to measure or to try a pump; goes through the gate like a shot, in observe only */
  | { readonly instruction: 'pump-run'; readonly stock: string; readonly runMs: number; readonly withWater: boolean }

export interface InstructionInput {
  readonly kind: 'instruction'
  readonly atMs: number
  readonly by: string
  readonly reason: string
  readonly instruction: Instruction
}

/** What the edges know and the core cannot: links, the disk, the clock, the fate of a message. */
export type EdgeNews =
  | { readonly edge: 'link'; readonly up: boolean }
  | { readonly edge: 'disk'; readonly writable: boolean }
  | { readonly edge: 'clock'; readonly sane: boolean }
  /** the record was changed or cut; `why` says where and what to do */
  | { readonly edge: 'ledger-damaged'; readonly why: string }
  | { readonly edge: 'command-sent'; readonly commandId: string }
  | { readonly edge: 'command-not-sent'; readonly commandId: string; readonly why: string }

export interface EdgeInput {
  readonly kind: 'edge'
  readonly atMs: number
  readonly news: EdgeNews
}

export interface TickInput {
  readonly kind: 'tick'
  readonly atMs: number
  /** only when the zone’s offset has changed */
  readonly utcOffsetMin?: number
}

export type Input =
  | StartInput
  | NodeStatusInput
  | HeartbeatInput
  | ScanInput
  | PumpReportInput
  | LaboratoryInput
  | LaboratoryWithdrawalInput
  | LaboratoryDecisionInput
  | SpotReadingInput
  | ActInput
  | InstructionInput
  | EdgeInput
  | TickInput
