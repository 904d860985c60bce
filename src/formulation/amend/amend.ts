// From what a used reservoir holds to what must be weighed in, with the ways there beside each other.

import { ELEMENT_COUNT, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { solveRecipe } from '../recipe/recipe.ts'
import { type AmendOption, type AmendQuestion, questionOf } from './amend-question.ts'
import { type BetterSalt, findBetterSalts } from './better-salt.ts'
import { type ElementNote, noteElements } from './element-note.ts'
import { quickLook } from './quick-look.ts'
import { renewalOf } from './renewal.ts'

export type AmendAnswer = Amendment | { readonly kind: 'no-answer'; readonly explanation: string }

export interface Amendment {
  readonly kind: 'amendment'
  readonly amendOnly: AmendOption
  /** the smallest share that serves, renewed first and then amended; absent where none serves better than amending */
  readonly renewAndAmend?: AmendOption
  readonly startAfresh: AmendOption
  readonly advised: AmendOption['kind']
  /** why, one sentence */
  readonly advice: string
  /** one for every element, of the advised way */
  readonly notes: readonly ElementNote[]
  /** salts not on the shelf with which amending alone would serve better, best first */
  readonly better: readonly BetterSalt[]
}

/** What the crop itself brings down within days; for these alone nothing is thrown away (common practice). */
const LOWERED_BY_THE_CROP: ReadonlySet<ElementName> = new Set(['NO3-N', 'NH4-N', 'P', 'K'])

/**
 * Amending only; renewing the smallest share that serves and amending; starting afresh: each solved exactly, by the
 * solver of the recipe and under its rules (see solveRecipe), and the one to take.
 *
 * A share serves when nothing stays out of band that a fresh start would bring in; ammonium does not count, which the
 * crop has taken up before a renewal is done.
 *
 * @returns the amendment, or { kind: 'no-answer', explanation } where no verified answer was found
 * @throws when shapes disagree or a number cannot be: that is a fault of the caller
 */
export function amend(question: AmendQuestion): AmendAnswer {
  if (!(question.volumeL > 0 && question.volumeL < Infinity))
    throw new Error(`amend: a volume of ${question.volumeL} L`)
  if (question.newWaterMmolPerL.length !== ELEMENT_COUNT) throw new Error('amend: the new water must hold 15 amounts')
  const amendOnly = optionOf(question, 'amend-only', 0)
  const startAfresh = optionOf(question, 'start-afresh', 1)
  if ('explanation' in amendOnly) return amendOnly
  if ('explanation' in startAfresh) return startAfresh
  const renewAndAmend = smallestRenewal(question, amendOnly, startAfresh)
  const options = { amendOnly, startAfresh, ...(renewAndAmend === undefined ? {} : { renewAndAmend }) }
  const { advised, advice } = adviceOn(options)
  const chosen = [amendOnly, renewAndAmend, startAfresh].find((option) => option?.kind === advised)!
  return {
    kind: 'amendment',
    ...options,
    ...{ advised, advice },
    notes: noteElements(question, chosen),
    better: findBetterSalts(question, amendOnly.recipe),
  }
}

type NoAnswer = { readonly kind: 'no-answer'; readonly explanation: string }

function optionOf(question: AmendQuestion, kind: AmendOption['kind'], share: number): AmendOption | NoAnswer {
  const asked = questionOf(question, share)
  const recipe = solveRecipe(asked)
  if (recipe.kind === 'no-answer') return recipe
  const renewal = renewalOf(share, question.volumeL)
  return {
    ...{ kind, renewal, recipe },
    amounts: recipe.gPerL.map((gPerL) => gPerL * question.volumeL),
    addedG: recipe.saltGPerL * question.volumeL,
    waterL: renewal.dischargeL,
    dischargeL: renewal.dischargeL,
    beforeMmolPerL: asked.presentMmolPerL,
    outOfBand: recipe.unmet.map(({ element }) => element),
  }
}

/** Shares tried before the edge is searched between two of them: amending need not get better steadily. */
const STEP_SHARE = 0.05
const SHARE_TOLERANCE = 0.003

function smallestRenewal(
  question: AmendQuestion,
  amendOnly: AmendOption,
  startAfresh: AmendOption,
): AmendOption | undefined {
  const hopeless = new Set<ElementName>([...startAfresh.outOfBand, 'NH4-N'])
  const serves = (outOfBand: readonly ElementName[]) => outOfBand.every((element) => hopeless.has(element))
  const servesAt = (share: number) => serves(quickLook(questionOf(question, share))?.outOfBand ?? ELEMENTS)
  if (serves(amendOnly.outOfBand)) return undefined
  let low = 0
  let high = leastShare(question, hopeless)
  while (high < 1 && !servesAt(high)) [low, high] = [high, high + STEP_SHARE]
  if (!(high < 1)) return undefined
  // what only renewal lowers has set the first share tried, and less can never do
  while (low > 0 && high - low > SHARE_TOLERANCE) {
    const middle = (low + high) / 2
    if (servesAt(middle)) high = middle
    else low = middle
  }
  const option = optionOf(question, 'renew-and-amend', high)
  return 'explanation' in option ? undefined : option
}

/** Nothing but new water lowers an element: the share that takes the highest of them down to its edge. */
function leastShare({ used, bands, newWaterMmolPerL }: AmendQuestion, hopeless: ReadonlySet<ElementName>): number {
  const shares = ELEMENTS.map((element, at) => {
    const over = used.mmolPerL[at]! - bands[at]!.high
    return over > 0 && !hopeless.has(element) ? over / (used.mmolPerL[at]! - newWaterMmolPerL[at]!) : 0
  })
  return Math.max(SHARE_TOLERANCE, ...shares)
}

function adviceOn(options: Pick<Amendment, 'amendOnly' | 'renewAndAmend' | 'startAfresh'>): {
  advised: AmendOption['kind']
  advice: string
} {
  const { amendOnly, renewAndAmend, startAfresh } = options
  const { unmet } = amendOnly.recipe
  if (unmet.length === 0)
    return { advised: 'amend-only', advice: 'Everything comes into its band; nothing has to be let go.' }
  if (unmet.every(({ element, kind }) => kind === 'high' && LOWERED_BY_THE_CROP.has(element))) {
    const what = listed(amendOnly.outOfBand)
    return {
      advised: 'amend-only',
      advice: `Only ${what} stays high, and the crop brings that down itself; letting solution go would waste it.`,
    }
  }
  const cured = amendOnly.outOfBand.filter((element) => !(renewAndAmend ?? startAfresh).outOfBand.includes(element))
  if (cured.length === 0) {
    return {
      advised: 'amend-only',
      advice: `${listed(amendOnly.outOfBand)} would stay out of band after a fresh start as well: look at the shelf and the source water.`,
    }
  }
  if (renewAndAmend !== undefined && renewAndAmend.dischargeL < startAfresh.dischargeL) {
    return {
      advised: 'renew-and-amend',
      advice: `Renewing that share first brings ${listed(cured)} into band, which no salt on this shelf can.`,
    }
  }
  return {
    advised: 'start-afresh',
    advice: `${listed(cured)} would need so much renewal that a fresh start lets no more water go.`,
  }
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}
