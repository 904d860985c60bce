/**
 * Which mistake of form explains best how a laboratory report disagrees with the running estimate. Phosphorus given as
 * P2O5 and potassium as K2O keep charge and conductivity nearly in order, so only the estimate itself can find them.
 */

import type { ElementName } from '../../chemistry/element.ts'
import { type ElementForm, readForm } from '../../chemistry/form.ts'

/** One element of a report against what was believed of its bottle. */
export interface Disagreement {
  readonly element: ElementName
  readonly reportedMgPerL: number
  readonly believedMgPerL: number
  /** standard deviation of the logarithm of reported over believed */
  readonly logSd: number
}

export interface FormError {
  readonly element: ElementName
  /** what the reported value must be multiplied by */
  readonly factor: number
  readonly text: string
}

export interface FormExplanation {
  readonly errors: readonly FormError[]
  /** sums of squared deviations over the elements, before and after */
  readonly misfitBefore: number
  readonly misfitAfter: number
  readonly text: string
}

/** Forms in which a laboratory may have meant a value that was read as the element. */
const MEANT: Partial<Record<ElementName, readonly ElementForm[]>> = {
  'NO3-N': ['NO3'],
  'NH4-N': ['NH4'],
  P: ['P2O5', 'PO4'],
  K: ['K2O'],
  Ca: ['CaO'],
  Mg: ['MgO'],
  S: ['SO4', 'SO3'],
}
const SLIPS = [
  { factor: 0.1, text: 'is ten times too much, as by a slip of the decimal point' },
  { factor: 10, text: 'is ten times too little, as by a slip of the decimal point' },
] as const

/** An explanation must earn this much of the misfit for each mistake it supposes: three standard deviations. Judgement. */
const MISFIT_PER_ERROR = 9
/** Below this an explanation explains nothing worth a person’s time. Judgement. */
const EARNS_LEAST = 16
/** After it no corrected element may be further off than this, in standard deviations. */
const LEFT_MOST = 3

/**
 * The single or double mistake of form that explains the disagreement best; undefined where none does.
 *
 * @param found elements with a value on both sides; logarithms are taken
 */
export function explainByForm(found: readonly Disagreement[]): FormExplanation | undefined {
  const sigmas = found.map((one) => Math.log(one.reportedMgPerL / one.believedMgPerL) / one.logSd)
  const misfitBefore = sigmas.reduce((sum, sigma) => sum + sigma * sigma, 0)
  const singles = found.flatMap((one, at) => candidates(one).map((error) => gained(one, sigmas[at]!, error)))
  const useful = singles.filter((single) => single.left <= LEFT_MOST && single.gain > MISFIT_PER_ERROR)
  const best = [0, 1].reduce<readonly Gained[]>((chosen) => {
    const others = useful.filter((single) => chosen.every((one) => one.error.element !== single.error.element))
    const next = others.toSorted((a, b) => b.gain - a.gain)[0]
    return next ? [...chosen, next] : chosen
  }, [])
  const gain = best.reduce((sum, one) => sum + one.gain, 0)
  if (best.length === 0 || gain - MISFIT_PER_ERROR * best.length < EARNS_LEAST) return undefined
  const errors = best.map(({ error }) => error)
  const text = errors.map((error) => error.text).join('; and ')
  return { errors, misfitBefore, misfitAfter: misfitBefore - gain, text }
}

interface Gained {
  readonly error: FormError
  readonly gain: number
  /** how far the element is off once corrected, standard deviations */
  readonly left: number
}

/** Elements disagree each by itself, so the best pair is the best two of different elements. */
function gained(one: Disagreement, sigma: number, error: FormError): Gained {
  const left = sigma + Math.log(error.factor) / one.logSd
  return { error, gain: sigma * sigma - left * left, left: Math.abs(left) }
}

function candidates({ element, reportedMgPerL }: Disagreement): readonly FormError[] {
  const written = (factor: number): string => `${rounded(reportedMgPerL)} would be ${rounded(factor * reportedMgPerL)}`
  const forms = (MEANT[element] ?? []).flatMap((form): FormError[] => {
    const read = readForm(form, 1)
    if (read.kind !== 'element') return []
    const share = read.mgPerL
    return [
      { element, factor: share, text: `${element} looks as if it was given as ${form} (${written(share)} mg/L)` },
      {
        element,
        factor: 1 / share,
        text: `${element} looks as if the element was taken for ${form} (${written(1 / share)} mg/L)`,
      },
    ]
  })
  const slips = SLIPS.map(({ factor, text }) => ({
    element,
    factor,
    text: `${element} ${text} (${written(factor)} mg/L)`,
  }))
  return [...forms, ...slips]
}

function rounded(mgPerL: number): string {
  return mgPerL >= 100 ? mgPerL.toFixed(0) : mgPerL.toPrecision(3)
}
