/** What a laboratory report would do, before anybody accepts it. */

import { ELEMENTS, type ElementName, MACRONUTRIENTS } from '../chemistry/element.ts'
import { ELEMENT_MOLAR_MASS } from '../chemistry/molar-mass.ts'
import { advance } from '../core/estimate/advance.ts'
import type { FilterState } from '../core/estimate/filter-state.ts'
import { type Disagreement, explainByForm, type FormExplanation } from '../core/estimate/form-error.ts'
import type { GridStep, StepLaboratory, StepLaboratoryValue } from '../core/estimate/grid-step.ts'
import { finishRerun, type History, oldestMs } from '../core/estimate/history.ts'
import { type ElementEstimate, estimateOf } from '../core/estimate/summary.ts'
import { readLaboratoryValues } from '../core/observe.ts'
import type { CoreSettings } from '../core/settings.ts'
import type { CoreState } from '../core/state.ts'
import type { LaboratoryResult } from './input.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** One element of a report against what was believed of its bottle, mg/L of the element. */
export interface ElementPreview {
  readonly element: ElementName
  readonly reported: ElementEstimate
  /** what was believed of the moment the bottle was filled */
  readonly from: ElementEstimate
  /** what would be believed of that moment with the report */
  readonly to: ElementEstimate
  /** reported less believed, in standard deviations of that difference */
  readonly sigmas: number
  /** the report says more than one report may change; the rest waits for a second one */
  readonly isBounded: boolean
}

export type LaboratoryPreview =
  | {
      readonly kind: 'preview'
      readonly id: string
      readonly sampledAtMs: number
      readonly elements: readonly ElementPreview[]
      /** whether a person must decide before it is acted on; empty where it is taken as it stands */
      readonly heldBecause: readonly string[]
      readonly explanation?: FormExplanation
    }
  | { readonly kind: 'refused'; readonly why: string }

/** A macronutrient this far off, in standard deviations and in share of what is believed, is a person’s matter. Judgement. */
const HELD_SIGMAS = 6
const HELD_SHARE = 0.4
/** The reading of a log: two witnesses are never compared closer than this. Judgement. */
const LOG_SD_LEAST = 0.04
/** Nothing is made of the ratio of two traces, mg/L. */
const COMPARED_LEAST_MG_PER_L = 0.5
const MACROS: readonly ElementName[] = MACRONUTRIENTS

/**
 * The effect of accepting a report, and whether it should be accepted at all. Nothing is changed by asking.
 *
 * Compared with the running estimate at the moment of sampling, so two mistakes of form that pass charge and EC together
 * are still found.
 */
export function laboratoryPreview(
  settings: ReservoirSettings,
  state: Pick<ReservoirState, 'core' | 'atMs'>,
  result: LaboratoryResult,
): LaboratoryPreview {
  const { core } = state
  if (!core) return { kind: 'refused', why: 'the reservoir has not been started yet' }
  // Stated as what must hold, so that a time that is no number is refused as well.
  if (!(result.sampledAtMs <= state.atMs)) return { kind: 'refused', why: 'the sample time lies in the future' }
  if (!(result.sampledAtMs > oldestMs(core.history)))
    return { kind: 'refused', why: 'the bottle was filled before the oldest kept step' }
  const values = readLaboratoryValues(result)
  if (typeof values === 'string') return { kind: 'refused', why: values }
  const { before, after } = aroundBottle(settings.core, core, { ...result, values })
  const elements = values.map((value) => elementPreview(before, after, value))
  const explanation = explainByForm(elements.flatMap(disagreement))
  return {
    kind: 'preview',
    id: result.id,
    sampledAtMs: result.sampledAtMs,
    elements,
    heldBecause: reasons(elements, explanation, hasOtherBottle(core, result.id)),
    ...(explanation ? { explanation } : {}),
  }
}

interface Read {
  readonly id: string
  readonly sampledAtMs: number
  readonly values: readonly StepLaboratoryValue[]
}

/** The belief at the end of the bottle’s step, without this report and with it. */
function aroundBottle(
  settings: CoreSettings,
  core: CoreState,
  { id, sampledAtMs, values }: Read,
): { readonly before: FilterState; readonly after: FilterState } {
  const { belief, step } = openedAt(settings, core, sampledAtMs)
  const others = step.laboratory.filter((kept) => kept.id !== id)
  const report: StepLaboratory = { id, sampledAtMs, values }
  return {
    before: advance(settings, core.cohorts, belief, { ...step, laboratory: others }),
    after: advance(settings, core.cohorts, belief, { ...step, laboratory: [...others, report] }),
  }
}

/** The step of a moment and the belief before it; for the step that is still open, as it stands so far. */
function openedAt(
  settings: CoreSettings,
  core: CoreState,
  atMs: number,
): { readonly belief: FilterState; readonly step: GridStep } {
  const { open } = core
  const history = settled(settings, core, atMs)
  if (atMs > open.fromMs) {
    const { doses, acts, laboratory } = open
    return { belief: history.filter, step: { endMs: open.untilMs, litShare: 0, doses, acts, laboratory } }
  }
  const stretch = history.stretches.findLast(({ start }) => start.atMs < atMs)!
  let belief = stretch.start
  for (const step of stretch.steps) {
    if (atMs <= step.endMs) return { belief, step }
    belief = advance(settings, core.cohorts, belief, step)
  }
  throw new Error('no step holds the sample time')
}

/**
 * A report is judged by what will be believed once a re-run under way has ended, or its fate would hang on how far that
 * has come. Where the re-run has passed the bottle, its beliefs are there already; else the rest of it is run here, once
 * for a report that comes within seconds of another: some 0.3 s at most for 30 days.
 */
function settled(settings: CoreSettings, { history, cohorts }: CoreState, atMs: number): History {
  const { rerun } = history
  return rerun && atMs > rerun.filter.atMs ? finishRerun(settings, cohorts, history) : history
}

function elementPreview(before: FilterState, after: FilterState, value: StepLaboratoryValue): ElementPreview {
  const element = ELEMENTS[value.elementIndex]!
  const molarMass = ELEMENT_MOLAR_MASS[element]
  const reported = { mgPerL: value.mmolPerL * molarMass, sdMgPerL: value.sdMmolPerL * molarMass }
  const from = estimateOf(before).elements[element]
  const to = estimateOf(after).elements[element]
  const sigmas = (reported.mgPerL - from.mgPerL) / Math.hypot(reported.sdMgPerL, from.sdMgPerL)
  return { element, reported, from, to, sigmas, isBounded: after.memory.waiting[value.elementIndex] !== 0 }
}

function disagreement({ element, reported, from }: ElementPreview): readonly Disagreement[] {
  if (!(reported.mgPerL > COMPARED_LEAST_MG_PER_L && from.mgPerL > COMPARED_LEAST_MG_PER_L)) return []
  const logSd = Math.hypot(reported.sdMgPerL / reported.mgPerL, from.sdMgPerL / from.mgPerL, LOG_SD_LEAST)
  return [{ element, reportedMgPerL: reported.mgPerL, believedMgPerL: from.mgPerL, logSd }]
}

/** A first bottle is the only witness against a fill that may have been mixed wrong: only a mistake of form holds it. */
function hasOtherBottle({ history, open }: CoreState, id: string): boolean {
  return [open, ...history.stretches.flatMap(({ steps }) => steps)].some(({ laboratory }) =>
    laboratory.some((kept) => kept.id !== id),
  )
}

function reasons(
  elements: readonly ElementPreview[],
  explanation: FormExplanation | undefined,
  isSampled: boolean,
): readonly string[] {
  if (explanation) return [`Compared with the running estimate, ${explanation.text}.`]
  if (!isSampled) return []
  return elements
    .filter(({ element, reported, from, sigmas }) => {
      const share = Math.abs(reported.mgPerL - from.mgPerL) / Math.max(from.mgPerL, COMPARED_LEAST_MG_PER_L)
      return MACROS.includes(element) && Math.abs(sigmas) > HELD_SIGMAS && share > HELD_SHARE
    })
    .map(
      ({ element, reported, from, sigmas }) =>
        `${element} is reported as ${reported.mgPerL.toFixed(0)} mg/L where ${from.mgPerL.toFixed(0)} ± ${from.sdMgPerL.toFixed(0)} is believed, ${Math.abs(sigmas).toFixed(0)} standard deviations away; up to ${HELD_SIGMAS} is acted on.`,
    )
}
