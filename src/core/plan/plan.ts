// What the planner proposes for the next interval: volumes with their reasons, the shots they become, and what a
// person should know that no dose can mend.

import type { ElementName } from '../../chemistry/element.ts'
import type { RenewalTask } from './renewal-task.ts'

export interface Plan {
  readonly id: string
  readonly atMs: number
  readonly untilMs: number
  readonly doses: readonly PlanDose[]
  /** in order of time; their volumes add up to the doses */
  readonly shots: readonly PlanShot[]
  readonly notes: readonly PlanNote[]
  /** solution to let go before the next doses; absent where none need go */
  readonly renewal?: RenewalTask
  /** doses too small for a shot; given to the next plan as `owed` */
  readonly left: readonly LeftVolume[]
}

export interface LeftVolume {
  readonly stock: string
  readonly volumeUl: number
}

export interface PlanDose {
  readonly stock: string
  /** whole microlitres */
  readonly volumeUl: number
  /** a sentence a grower understands, without the volume */
  readonly reason: string
  /** the element the stock is chiefly dosed for; absent for acid and base */
  readonly element?: ElementName
}

export interface PlanShot {
  readonly stock: string
  readonly volumeUl: number
  readonly notBeforeMs: number
}

/**
 * - `no-estimate`: something the plan rests on is missing or not a number; nothing is dosed
 * - `solver`: no verified answer; nothing is dosed
 * - `over-high`: an element is above its band; no dose lowers it
 * - `no-stock`: an element is short and no stock brings it
 * - `held-back`: an element stays below its band although a stock brings it
 * - `blocked`: a stock that would be used may not run now
 * - `parity`: a micronutrient falls because the stock it rides in is hardly dosed
 * - `conductivity`: the upper bound of conductivity holds doses back
 * - `acidity`: acid or base would be needed and cannot be given
 * - `renewal`: solution is to be let go and replaced by water before the next doses
 * - `sample`: a laboratory sample is needed soon, or is overdue
 * - `left`: doses below the smallest shot, left for a later plan
 * - `no-time`: shots that do not fit the interval
 */
export type PlanNoteKind =
  | 'no-estimate'
  | 'solver'
  | 'over-high'
  | 'no-stock'
  | 'held-back'
  | 'blocked'
  | 'parity'
  | 'conductivity'
  | 'acidity'
  | 'renewal'
  | 'sample'
  | 'left'
  | 'no-time'

export interface PlanNote {
  readonly kind: PlanNoteKind
  /** a sentence for a person */
  readonly text: string
  readonly element?: ElementName
  readonly stock?: string
  /** the numbers in the sentence, by a name that ends in the unit */
  readonly figures: Readonly<Record<string, number>>
}
