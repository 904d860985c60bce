import type { StepSpot } from './spot.ts'

/** One step of the filter’s grid as kept: what was seen and what came and went. Data only, so it can be run again. */

export interface StepDose {
  /** when it was settled, a minute or two after it ran */
  readonly atMs: number
  readonly stockIndex: number
  readonly commandId: string
  readonly lowMl: number
  readonly highMl: number
}

/** Something by hand that moved water or salt. */
export type StepAct =
  | { readonly act: 'added'; readonly mmol: Float64Array; readonly relativeSd: number }
  | { readonly act: 'drained'; readonly volumeL: number }
  | { readonly act: 'topped-up'; readonly volumeL: number }
  /** `strength` of the batch over what the recipe says, 1 where nothing is known of it */
  | { readonly act: 'stock-refilled'; readonly stockIndex: number; readonly strength?: number }
  /** a probe was given a new slope or offset: what was learned of its error is over */
  | { readonly act: 'calibrated'; readonly role: 'level' | 'conductivity' | 'ph' }
  | { readonly act: 'bottle-weighed'; readonly stockIndex: number; readonly massG: number }
  /** growth, uptake and the EC probe’s gain are to be learned afresh, as for another crop or another probe */
  | { readonly act: 'learning-reset' }
  /** part or all of the solution for a fill; make-up water where no composition is given, mmol/L */
  | {
      readonly act: 'changed'
      readonly drainedL: number
      readonly filledL: number
      readonly mmolPerL?: Float64Array
    }

/** An act with its moment: acts of one step are taken in the order they were done, however late they were logged. */
export type TimedAct = StepAct & { readonly doneAtMs: number }

/** A laboratory value as the filter takes it: mmol/L with the standard deviation of bottle and analysis together. */
export interface StepLaboratoryValue {
  readonly elementIndex: number
  readonly mmolPerL: number
  readonly sdMmolPerL: number
}

export interface StepLaboratory {
  readonly id: string
  readonly sampledAtMs: number
  readonly values: readonly StepLaboratoryValue[]
}

export interface GridStep {
  readonly endMs: number
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly temperatureC?: number
  readonly levelL?: number
  readonly topUpL?: number
  readonly flowing?: boolean
  readonly litShare: number
  readonly doses: readonly StepDose[]
  readonly acts: readonly TimedAct[]
  readonly laboratory: readonly StepLaboratory[]
  /** what people read by hand in this step; absent where nobody did */
  readonly spots?: readonly StepSpot[]
}
