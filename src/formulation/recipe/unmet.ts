/** Elements that end outside their bands, and why no amount of these salts helps. */

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import { AMMONIUM, NITRATE, WITHOUT_LOW_EDGE } from './element-rule.ts'
import type { RecipeQuestion } from './recipe.ts'
import type { Setting } from './recipe-setting.ts'

export interface Unmet {
  readonly element: ElementName
  readonly kind: 'low' | 'high'
  /** a sentence for a grower: where it ends, what holds it there, what would help */
  readonly why: string
}

interface Outcome {
  readonly gPerL: Float64Array
  readonly totalMmolPerL: Float64Array
  readonly broughtMmolPerL: readonly Float64Array[]
}

interface Case {
  readonly question: RecipeQuestion
  readonly setting: Setting
  readonly outcome: Outcome
  readonly at: number
}

/** Outside by more than this part of the edge counts as unmet; the solver’s own hair is far below. */
const NOTICED_SHARE = 1e-4

/** One entry for every element outside its band, in the order of ELEMENTS. */
export function explainUnmet(question: RecipeQuestion, setting: Setting, outcome: Outcome): Unmet[] {
  return ELEMENTS.flatMap((element, at): Unmet[] => {
    const { low, high } = question.bands[at]!
    const total = outcome.totalMmolPerL[at]!
    const one = { question, setting, outcome, at }
    if (total > high * (1 + NOTICED_SHARE)) return [{ element, kind: 'high', why: whyHigh(one) }]
    const isShort = !WITHOUT_LOW_EDGE.has(element) && total < low * (1 - NOTICED_SHARE)
    return isShort ? [{ element, kind: 'low', why: whyLow(one) }] : []
  })
}

function whyLow(one: Case): string {
  const { question, at } = one
  const element = ELEMENTS[at]!
  const ends = `${element} ends at ${mgPerL(one, at)} mg/L, below its band from ${mg(element, question.bands[at]!.low)}`
  const carriers = [...question.salts.keys()].filter((s) => question.salts[s]!.mmolPerG[at]! > 0)
  if (carriers.length === 0) return `${ends}: no salt on the shelf carries it. Put one on the shelf.`
  const reasons = carriers.map((s) => holding(one, s))
  const told = [...new Set(reasons.filter((reason) => reason !== undefined))]
  if (told.length === 0) {
    return `${ends}: what else comes with ${named(question, carriers)} sets the amount. A salt that carries it alone would help.`
  }
  return `${ends}: ${told.join('; ')}. A salt that carries ${element} without that would help.`
}

/** What keeps more of one salt away. */
function holding({ question, setting, outcome, at }: Case, s: number): string | undefined {
  const { name, mmolPerG, pinnedGPerL, maxGPerL = Infinity } = question.salts[s]!
  if (pinnedGPerL !== undefined) return `${name} is pinned at ${figure(pinnedGPerL)} g/L`
  if (outcome.gPerL[s]! >= maxGPerL * (1 - NOTICED_SHARE)) return `${name} is limited to ${figure(maxGPerL)} g/L`
  const along = [...ELEMENTS.keys()].filter((e) => e !== at && mmolPerG[e]! > 0)
  const full = along.filter((e) => isFull(setting, outcome, e))
  if (full.length > 0) return `${listed(full.map((e) => ELEMENTS[e]!))} comes with ${name} and is at its limit`
  if (mmolPerG[AMMONIUM]! > 0 && isAmmoniumFull(question, outcome)) {
    return `the ammonium in ${name} would pass its share of ${figure(100 * question.ammoniumShareMax)} % of the nitrogen`
  }
  const over = along.filter((e) => setting.weight[e]! > 0 && outcome.totalMmolPerL[e]! > 0.999 * setting.bands[e]!.high)
  if (over.length === 0) return undefined
  return `${listed(over.map((e) => ELEMENTS[e]!))} comes with ${name} and fills its own band`
}

function isFull(setting: Setting, { totalMmolPerL }: Outcome, e: number): boolean {
  return totalMmolPerL[e]! >= setting.ceilingMmolPerL[e]! * (1 - NOTICED_SHARE)
}

function isAmmoniumFull(question: RecipeQuestion, { broughtMmolPerL }: Outcome): boolean {
  const brought = (e: number) => broughtMmolPerL.reduce((sum, salt) => sum + salt[e]!, 0)
  const nitrogen = brought(AMMONIUM) + brought(NITRATE)
  return brought(AMMONIUM) >= question.ammoniumShareMax * nitrogen * (1 - NOTICED_SHARE)
}

function whyHigh(one: Case): string {
  const { question, outcome, at } = one
  const element = ELEMENTS[at]!
  const ends = `${element} ends at ${mgPerL(one, at)} mg/L, above its band up to ${mg(element, question.bands[at]!.high)}`
  const present = question.presentMmolPerL[at]!
  if (present > question.bands[at]!.high) {
    return `${ends}: ${mg(element, present)} is there before any salt, and no salt lowers it. Other water, or renewing part of the solution, does.`
  }
  const bringing = [...question.salts.keys()].filter((s) => outcome.broughtMmolPerL[s]![at]! > 0)
  const most = bringing.sort((a, b) => outcome.broughtMmolPerL[b]![at]! - outcome.broughtMmolPerL[a]![at]!)[0]
  if (most === undefined) return `${ends}.`
  const { name, mmolPerG, pinnedGPerL } = question.salts[most]!
  if (pinnedGPerL !== undefined) return `${ends}: most of it comes with ${name}, pinned at ${figure(pinnedGPerL)} g/L.`
  const wanted = ELEMENTS.filter((_, e) => e !== at && mmolPerG[e]! > 0 && question.bands[e]!.weight > 0)
  return `${ends}: it comes with ${name}, which is needed for ${listed(wanted)}. Another salt for that would help.`
}

function named({ salts }: RecipeQuestion, places: readonly number[]): string {
  return listed(places.map((s) => salts[s]!.name))
}

function mgPerL({ outcome }: Case, at: number): string {
  return mg(ELEMENTS[at]!, outcome.totalMmolPerL[at]!)
}

function mg(element: ElementName, mmolPerL: number): string {
  return figure(toMgPerL(element, mmolPerL))
}

function figure(value: number): string {
  return String(Number(value.toPrecision(3)))
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}
