import type { Seen } from './effect-contrast.ts'
import type { StockEffectState } from './effect-state.ts'
import type { Decision, WrongEffect } from './effect-test.ts'
import { tellValue, tellVolume } from './wording.ts'

type Bad = Extract<Decision, { decision: 'wrong' | 'unseen' }>

const LOOK: Readonly<Record<WrongEffect, string>> = {
  none: 'look whether the bottle is empty, the pump turns and its line is open and ends in the reservoir',
  'too-little': 'look whether the right bottle stands at the pump, how it was mixed, and whether the line leaks',
  'too-much':
    'look whether the right bottle stands at the pump, how it was mixed, and what the pump delivers in a minute',
  opposite: 'look whether the right bottle stands at the pump, and check the conductivity probe',
}

/** The trip for a response that is not as declared, with what was expected, what was seen and what to look at. */
export function tripOfEffect(stock: string, decided: Bad, before: StockEffectState, seen: Seen | null) {
  const common = `${tellVolume(before.unverifiedUl)} of ${stock} went out and nothing proves it`
  if (decided.decision === 'unseen') {
    const why =
      `${common}: too few good conductivity readings before and after its shots; look at the conductivity and level ` +
      'probes and at the stock, then reset the trip'
    return { trip: 'effect-unseen', subject: stock, why } as const
  }
  const figures =
    seen === null
      ? ''
      : `: the last shot should have moved conductivity by ${tellValue(seen.expectedDsPerM)} mS/cm and moved it by ` +
        `${tellValue(seen.seenDsPerM)} ± ${tellValue(seen.sdDsPerM)} mS/cm`
  const why = `${stock} has ${SAID[decided.wrong]} effect${figures}; ${LOOK[decided.wrong]}, then reset the trip`
  return { trip: `effect-${decided.wrong}`, subject: stock, why } as const
}

const SAID: Readonly<Record<WrongEffect, string>> = {
  none: 'no',
  'too-little': 'too little',
  'too-much': 'too much',
  opposite: 'the opposite',
}
