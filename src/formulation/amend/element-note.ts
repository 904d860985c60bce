// A sentence for every element: where it stood, what is done about it, where it ends, and why not further.

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import { WITHOUT_LOW_EDGE } from '../recipe/element-rule.ts'
import type { RecipeSalt } from '../recipe/recipe.ts'
import type { AmendOption, AmendQuestion } from './amend-question.ts'

export interface ElementNote {
  readonly element: ElementName
  /** as reported, mg/L */
  readonly usedMgPerL: number
  readonly isMeasured: boolean
  /** where it ends, mg/L */
  readonly endMgPerL: number
  readonly lowMgPerL: number
  readonly aimMgPerL: number
  readonly highMgPerL: number
  readonly verdict: 'in band' | 'brought in' | 'still low' | 'still high' | 'raised too high'
  readonly text: string
}

/** Smaller than this part of the aim is not worth a word. */
const TOLD_SHARE = 0.005

/** Notes for the way that is taken, in the order of ELEMENTS. */
export function noteElements(question: AmendQuestion, option: AmendOption): readonly ElementNote[] {
  return ELEMENTS.map((element, at) => {
    const band = question.bands[at]!
    const mg = (mmolPerL: number) => toMgPerL(element, mmolPerL)
    const verdict = verdictOn(question, option, at)
    return {
      element,
      usedMgPerL: mg(question.used.mmolPerL[at]!),
      isMeasured: !question.used.unmeasured.includes(element),
      endMgPerL: mg(option.recipe.totalMmolPerL[at]!),
      lowMgPerL: mg(band.low),
      aimMgPerL: mg(band.aim),
      highMgPerL: mg(band.high),
      verdict,
      text: sentences(question, option, at, verdict).join(' '),
    }
  })
}

function verdictOn({ used, bands }: AmendQuestion, { recipe }: AmendOption, at: number): ElementNote['verdict'] {
  const miss = recipe.unmet.find(({ element }) => element === ELEMENTS[at])
  const was = used.mmolPerL[at]!
  const { low, high } = bands[at]!
  if (miss?.kind === 'low') return 'still low'
  if (miss?.kind === 'high') return was > high ? 'still high' : 'raised too high'
  const isLow = was < low && !WITHOUT_LOW_EDGE.has(ELEMENTS[at]!)
  return isLow || was > high ? 'brought in' : 'in band'
}

function sentences(
  question: AmendQuestion,
  option: AmendOption,
  at: number,
  verdict: ElementNote['verdict'],
): readonly string[] {
  const element = ELEMENTS[at]!
  const { used, bands } = question
  const why = option.recipe.unmet.find((miss) => miss.element === element)?.why
  const brought = broughtBy(question, option, at)
  const measured = used.unmeasured.includes(element)
    ? ['Not in the report; taken to stand at its aim.']
    : used.belowLimit.includes(element)
      ? ['Below the laboratory’s limit; taken at half of it.']
      : []
  if (verdict === 'still low' || verdict === 'raised too high') return [...measured, `${why ?? ''}`]
  if (verdict === 'still high') return [...measured, `${why ?? ''}`, ...(element === 'NH4-N' ? [AMMONIUM_GOES] : [])]
  const fell = used.mmolPerL[at]! > bands[at]!.high ? ['Over; the renewal brings it down.'] : []
  const rose = brought.length > 0 ? [`${listed(brought)}.`, ...passedOver(question, option, at)] : []
  return [...measured, ...fell, ...rose]
}

const AMMONIUM_GOES = 'The crop takes ammonium up within a day or two.'

/** 'potassium sulfate +24 mg/L', the most first. */
function broughtBy({ shelf, bands }: AmendQuestion, { recipe }: AmendOption, at: number): string[] {
  const told = TOLD_SHARE * (bands[at]!.aim > 0 ? bands[at]!.aim : bands[at]!.high)
  return [...shelf.keys()]
    .filter((s) => recipe.broughtMmolPerL[s]![at]! > told)
    .sort((a, b) => recipe.broughtMmolPerL[b]![at]! - recipe.broughtMmolPerL[a]![at]!)
    .map((s) => `${shelf[s]!.name} +${figure(toMgPerL(ELEMENTS[at]!, recipe.broughtMmolPerL[s]![at]!))}`)
}

/** Why not the salt that a grower would reach for: it carries what is over already. */
function passedOver(question: AmendQuestion, option: AmendOption, at: number): string[] {
  const { shelf, bands } = question
  const mainly = (salt: RecipeSalt) => salt.mmolPerG[at]! > 0
  const unused = [...shelf.keys()].filter((s) => mainly(shelf[s]!) && option.recipe.gPerL[s] === 0)
  const told = unused.flatMap((s): string[] => {
    const full = ELEMENTS.filter(
      (_, e) => e !== at && shelf[s]!.mmolPerG[e]! > 0 && option.beforeMmolPerL[e]! > bands[e]!.high,
    )
    return full.length > 0 ? [`${shelf[s]!.name} would bring ${listed(full)}, which is over`] : []
  })
  return told.length > 0 ? [`Not by another: ${told.join('; ')}.`] : []
}

function figure(value: number): string {
  return String(Number(value.toPrecision(2)))
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}
