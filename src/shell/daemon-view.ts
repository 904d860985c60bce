/**
 * What the daemon shows of itself and takes from people, as the loop provides it and HTTP serves it.
 * Everything here is plain data in outside units: mS/cm, mg/L, mL, epoch milliseconds UTC.
 */

import type { Instruction, Mode } from '../reservoir/input.ts'
import type { AlarmState } from '../reservoir/record.ts'
import type { UnstampedInput } from './loop-input.ts'

export interface ReadingView {
  readonly quantity: 'conductivity' | 'ph' | 'level' | 'temperature'
  /** absent while no usable value is there; `abnormal` then says why */
  readonly value?: number
  /** as shown to people: mS/cm, '' for pH, L, °C */
  readonly unit: string
  readonly atMs?: number
  readonly abnormal?: string
}

export interface NextDoseView {
  readonly stock: string
  readonly volumeMl: number
  /** earliest moment, where one is known */
  readonly atMs?: number
  /** a sentence a grower understands */
  readonly reason: string
}

/** The plan of the hour, as a person reads it before approving it. */
export interface PlanView {
  readonly id: string
  readonly atMs: number
  /** until then it is the newest; in the advise mode an approval keeps it longer */
  readonly validUntilMs: number
  /** absent where nobody has to approve it */
  readonly approval?: { readonly isGiven: boolean; readonly untilMs?: number }
  readonly doses: readonly { readonly stock: string; readonly volumeMl: number; readonly reason: string }[]
}

/** Something about the plans that a person should know, standing since a moment. */
export interface NoteView {
  readonly kind: string
  readonly text: string
  readonly sinceMs: number
}

/** When the next laboratory sample is needed, and what would not be known any more then. */
export interface SampleView {
  /** absent where nothing becomes too doubtful within two months */
  readonly neededByMs?: number
  readonly text: string
  readonly elements: readonly { readonly element: string; readonly neededByMs?: number; readonly sdShare: number }[]
}

export interface AlarmView {
  readonly alarm: string
  readonly state: AlarmState
  readonly priority: 'urgent' | 'high' | 'low'
  /** all of it as one text */
  readonly text: string
  readonly cause: string
  readonly consequence: string
  readonly action: string
  readonly respondWithin: string
  readonly raisedAtMs?: number
  /** who acknowledged or shelved it */
  readonly by?: string
  /** the end of its shelving */
  readonly untilMs?: number
  /** alarms that follow from this one and are not raised beside it */
  readonly consequences: readonly string[]
}

/** What no dose costs: since when, why, and which element is short first. */
export interface StandstillView {
  readonly sinceMs: number
  readonly why: string
  readonly text: string
  readonly runsOut?: {
    readonly element: string
    readonly atMs: number
    readonly earliestMs: number
    readonly mgPerL: number
    readonly lowMgPerL: number
  }
}

export interface StatusView {
  readonly version: string
  readonly reservoir: string
  readonly atMs: number
  readonly mode: Mode
  readonly held: boolean
  /** how the reservoir is and what comes next, in one sentence */
  readonly sentence: string
  readonly readings: readonly ReadingView[]
  readonly nextDoses: readonly NextDoseView[]
  /** absent before there was one */
  readonly plan?: PlanView
  readonly notes: readonly NoteView[]
  /** absent before the first plan */
  readonly sample?: SampleView
  /** plant life first; those that follow from another are named by it and not listed beside it */
  readonly alarms: readonly AlarmView[]
  /** absent while doses may go */
  readonly standstill?: StandstillView
  readonly trips: readonly { readonly trip: string; readonly why: string }[]
  readonly nodes: readonly { readonly node: string; readonly online: boolean }[]
  /** the ledger’s head, published so that a cut tail shows */
  readonly head: { readonly sequence: number; readonly hash: string }
}

export interface ElementView {
  readonly mgPerL: number
  readonly sdMgPerL: number
  /** target band of the crops now; absent where they have none for this element */
  readonly band?: { readonly lowMgPerL: number; readonly aimMgPerL: number; readonly highMgPerL: number }
}

export interface EstimateView {
  readonly atMs: number
  readonly volumeL: number
  readonly alkalinityMeqPerL: number
  readonly elements: Readonly<Record<string, ElementView>>
}

/** One line of what happened; `sequence` only grows and is where a reader goes on after a break. */
export interface EventView {
  readonly sequence: number
  readonly atMs: number
  readonly kind: string
  readonly text: string
}

/** Counts since the process started, and gauges that the status does not have. */
export interface CountersView {
  readonly doses: readonly {
    readonly pump: string
    readonly outcome: string
    readonly count: number
    readonly volumeUl: number
  }[]
  readonly trips: readonly { readonly interlock: string; readonly count: number }[]
  readonly probes: readonly { readonly probe: string; readonly lastAtMs: number }[]
  readonly ledgerFreeBytes: number
}

export interface ReadinessCheck {
  readonly name: string
  readonly ok: boolean
  readonly text: string
}

export interface LaboratoryUpload {
  readonly fileName: string
  readonly text: string
  readonly sampledAtMs: number
  readonly by: string
  /** which bottle, where the report holds several */
  readonly sample?: string
  /** what this laboratory’s own words mean */
  readonly mapping?: { readonly fileName: string; readonly text: string }
  /** a person has seen the doubts and wants it taken all the same */
  readonly isAccepted: boolean
}

export type LaboratoryAnswer =
  | { readonly kind: 'accepted'; readonly id: string; readonly text: string; readonly known?: boolean }
  /** plausible in parts only: kept for a person to decide */
  | { readonly kind: 'held'; readonly id: string; readonly why: readonly string[] }
  | { readonly kind: 'refused'; readonly why: readonly string[] }

/** Everything that reaches the loop from a person. */
export type PersonsInput = Extract<
  UnstampedInput,
  {
    readonly kind:
      | 'laboratory-result'
      | 'laboratory-withdrawal'
      | 'laboratory-decision'
      | 'spot-reading'
      | 'act'
      | 'instruction'
  }
>

export type InstructionAnswer =
  | { readonly kind: 'taken' }
  /** nothing of this name is there, or it cannot be; nothing was changed */
  | { readonly kind: 'refused'; readonly why: string }
  /** the ledger takes nothing now, so it would be forgotten; nothing is dosed meanwhile */
  | { readonly kind: 'not-kept'; readonly why: string }

/** A run of a pump that a person asked for, once the gate has looked at it. */
export type PumpRunAnswer =
  | { readonly kind: 'on-its-way'; readonly commandId: string; readonly runMs: number; readonly volumeMl: number }
  | Exclude<InstructionAnswer, { readonly kind: 'taken' }>

export type PumpRunWish = Omit<Extract<Instruction, { readonly instruction: 'pump-run' }>, 'instruction'>

export interface DaemonView {
  status(): StatusView
  /** undefined before the first one */
  estimate(): EstimateView | undefined
  /** the newest events in order of time, at most `limit`, only those after a sequence where one is given */
  recentEvents(limit: number, afterSequence?: number): readonly EventView[]
  /** calls for every event and every scan from now on, until the returned function is called */
  subscribe(listener: (event: EventView) => void): () => void
  counters(): CountersView
  /** whether the loop still takes inputs */
  alive(): boolean
  readiness(): readonly ReadinessCheck[]
  addLaboratory(upload: LaboratoryUpload): Promise<LaboratoryAnswer>
  /** a person’s word on holds, trips and alarms; resolves when it is in force and kept */
  instruct(by: string, reason: string, instruction: Instruction): Promise<InstructionAnswer>
  /** one run of a pump into a measuring glass; resolves when the gate has answered and its answer is kept */
  runPump(by: string, reason: string, run: PumpRunWish): Promise<PumpRunAnswer>
  /** anything else a person did or found */
  tell(input: PersonsInput): Promise<InstructionAnswer>
}
