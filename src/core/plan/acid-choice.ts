// Which stock meets the need for acid or base, and with how much of it.

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import { type AcidityNeed, acidityNeed } from './acidity.ts'
import type { Dosable } from './dosable.ts'
import type { LevelPath } from './level-path.ts'
import type { PlanNote } from './plan.ts'
import type { PlanInput } from './plan-input.ts'
import { figure } from './wording.ts'

export interface AcidChoice {
  readonly need: AcidityNeed
  /** index of the stock; absent when nothing is to be given or nothing can give it */
  readonly at: number | undefined
  /** microlitres, not yet rounded; 0 without a stock */
  readonly volumeUl: number
  readonly notes: readonly PlanNote[]
}

/** A need smaller than this is left to the estimate (a thousandth of what pH could show). */
const NEED_MIN_MEQ_PER_L = 1e-4

/** Chooses the acid (or base) whose elements are welcome, as much of it as the limits leave. */
export function chooseAcid(
  input: PlanInput,
  paths: readonly LevelPath[],
  dosables: readonly Dosable[],
  dosesMeq: number,
): AcidChoice {
  const need = acidityNeed(input, dosesMeq)
  const none = { need, at: undefined, volumeUl: 0 }
  const kind = need.meq > 0 ? 'acid' : 'base'
  const stocks = [...dosables.keys()].filter((at) => {
    const { settings, meqPerMl } = dosables[at]!
    return settings.kind === kind && (kind === 'acid' ? meqPerMl < 0 : meqPerMl > 0)
  })
  if (!(Math.abs(need.meq) > NEED_MIN_MEQ_PER_L * input.estimate.volumeL)) {
    return { ...none, notes: barredNotes(input, need, dosables) }
  }
  const able = stocks.filter((at) => dosables[at]!.maxUl > 0)
  const at = able.find((s) => isWelcome(paths, dosables[s]!)) ?? able[0]
  if (at === undefined)
    return {
      ...none,
      notes: [
        cannotBeGiven(
          need,
          kind,
          stocks.map((s) => dosables[s]!),
        ),
      ],
    }
  const dosable = dosables[at]!
  const wishedUl = (1000 * need.meq) / -dosable.meqPerMl
  const volumeUl = Math.min(wishedUl, dosable.maxUl)
  return { need, at, volumeUl, notes: wishedUl > dosable.maxUl + 1 ? [limited(need, dosable)] : [] }
}

/** Does it bring nothing that is over its band? */
function isWelcome(paths: readonly LevelPath[], { mmolPerLPerMl }: Dosable): boolean {
  for (let e = 0; e < ELEMENT_COUNT; e++) {
    if (mmolPerLPerMl[e]! > 0 && paths[e]!.undosedMmolPerL > paths[e]!.band.high) return false
  }
  return true
}

function barredNotes(input: PlanInput, need: AcidityNeed, dosables: readonly Dosable[]): PlanNote[] {
  const { ph } = input.estimate
  if (need.barred === undefined || ph === undefined) return []
  const base = dosables.some(({ settings }) => settings.kind === 'base')
  const then = base ? 'base is not needed yet' : 'there is no base to raise it: crop and make-up water must'
  const text = `pH is ${figure(ph)}, at or below its low edge of ${figure(input.phBand.low)}: no acid is given, and ${then}.`
  return [{ kind: 'acidity', text, figures: { ph, phLow: input.phBand.low } }]
}

function cannotBeGiven(need: AcidityNeed, kind: 'acid' | 'base', stocks: readonly Dosable[]): PlanNote {
  const why =
    stocks.length === 0
      ? `no stock is ${kind === 'acid' ? 'an acid' : 'a base'}`
      : stocks
          .map(({ settings, blockedBy }) =>
            blockedBy.length > 0 ? `${settings.id} may not run` : `the limits leave nothing of ${settings.id}`,
          )
          .join('; ')
  const meq = Math.abs(need.meq)
  const text = `${figure(meq, 2)} meq of ${kind} would be needed in this interval, and none can be given (${why}).`
  return { kind: 'acidity', text, figures: { needMeq: need.meq, makeUpMeq: need.makeUpMeq, cropMeq: need.cropMeq } }
}

function limited(need: AcidityNeed, dosable: Dosable): PlanNote {
  const leftMeq = (dosable.maxUl / 1000) * Math.abs(dosable.meqPerMl)
  const text = `${figure(Math.abs(need.meq), 2)} meq of ${dosable.settings.kind} would be needed in this interval; the limits leave ${figure(leftMeq, 2)} meq of ${dosable.settings.id}.`
  return { kind: 'acidity', stock: dosable.settings.id, text, figures: { needMeq: need.meq, leftMeq } }
}
