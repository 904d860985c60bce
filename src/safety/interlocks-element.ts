import type { ElementFacts } from './element-facts.ts'
import type { Interlock } from './interlock.ts'
import { tellValue } from './wording.ts'

/** What all stocks together bring of one element, whichever of them runs. */
export const ELEMENT_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'element-day-bounded',
    rule: 'Of no element do all stocks together bring more in a day than its cap.',
    on: 'amount',
    holds: (wish, facts) => facts.elements.every((element) => isWithin(element, wish.volumeUl)),
    found: (wish, facts) =>
      facts.elements
        .filter((element) => !isWithin(element, wish.volumeUl))
        .map(tell)
        .join('; '),
    waitMs: (wish, facts) =>
      longest(facts.elements.map((element) => element.waitForNgMs(wish.volumeUl * element.ngPerUl))),
  },
]

function isWithin({ dayNg, dayMaxNg, ngPerUl }: ElementFacts, volumeUl: number): boolean {
  return dayNg + volumeUl * ngPerUl <= dayMaxNg
}

function tell({ element, volumeL, dayNg, dayMaxNg, untold }: ElementFacts): string {
  if (untold.length > 0) {
    const stocks = untold.join(', ')
    return `${element}: it is capped, and nobody told how much of it ${stocks} brings; state in the limits what is in ${stocks}`
  }
  const mgPerL = (ng: number) => tellValue(ng / 1e6 / volumeL)
  return (
    `${element}: ${mgPerL(dayNg)} mg/L of it went in or may have gone in within 24 h, ` +
    `counted in ${tellValue(volumeL)} L, at most ${mgPerL(dayMaxNg)} mg/L may`
  )
}

function longest(waits: readonly (number | null)[]): number | null {
  return waits.reduce((most, wait) => (most === null || wait === null ? null : Math.max(most, wait)), 0)
}
