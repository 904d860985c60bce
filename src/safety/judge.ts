/** The last word before a pump runs. Knows limits and the book, not recipes. */

import { type OpenCommand, openCommand } from './book.ts'
import { type Facts, factsFor } from './facts.ts'
import { type Figures, figuresOf } from './figures.ts'
import type { Interlock } from './interlock.ts'
import { INTERLOCKS } from './interlocks.ts'
import type { Limits } from './limits.ts'
import { type PermittedShot, type ShotFields, takeMaker } from './permitted-shot.ts'
import { runMsOf } from './run-time.ts'
import type { SafetyState } from './state.ts'
import type { ShotWish } from './types.ts'
import { tellVolume, tellWait } from './wording.ts'

interface Refusal {
  readonly interlock: string
  /** what was found, what is allowed and, where time alone lifts it, how long that takes */
  readonly sentence: string
  /** epoch ms of the next chance; absent where time alone does not lift it */
  readonly notBeforeMs?: number
}

type Verdict =
  | {
      readonly kind: 'permit'
      readonly shot: PermittedShot
      readonly totalRunMs: number
      readonly figures: Figures
    }
  | {
      readonly kind: 'refuse'
      readonly why: readonly Refusal[]
      /** the command as it was asked for, for the record; what is not known is '' or 0 */
      readonly asked: ShotFields
      readonly totalRunMs: number
      readonly figures: Figures
    }

export interface Judgement {
  readonly state: SafetyState
  readonly verdict: Verdict
}

const makeShot = takeMaker()

/**
 * Permits or refuses one shot. It refuses, never trims: a wish beyond a limit is a fault upstream that trimming would
 * hide. A permitted shot counts in full in the state it comes back with, before anybody can send it.
 */
export function judge(limits: Limits, state: SafetyState, wish: ShotWish, atMs: number, commandId: string): Judgement {
  const facts = factsFor(limits, state, { stock: wish.stock, atMs, commandId })
  const runMs = runMsOf(wish.volumeUl, facts.rateUlPerS)
  const figures = figuresOf(wish, runMs, facts, limits)
  const asked = fieldsOf(limits, state, wish, facts, commandId)
  const totalRunMs = finiteOr0(facts.totalRunMs)
  const broken = INTERLOCKS.filter((row) => !row.holds(wish, facts, limits))
  if (broken.length > 0) {
    const why = broken.map((row) => refusal(row, wish, facts, limits))
    return { state, verdict: { kind: 'refuse', why, asked, totalRunMs, figures } }
  }
  const book = openCommand(state.book, commandOf(asked, facts, wish))
  return { state: { ...state, book }, verdict: { kind: 'permit', shot: makeShot(asked), totalRunMs, figures } }
}

function fieldsOf(limits: Limits, state: SafetyState, wish: ShotWish, facts: Facts, commandId: string): ShotFields {
  return {
    id: commandId,
    node: facts.node,
    pump: facts.pump,
    stock: wish.stock,
    planId: wish.planId,
    volumeUl: wish.volumeUl,
    runMs: finiteOr0(runMsOf(wish.volumeUl, facts.rateUlPerS)),
    boot: facts.boot ?? '',
    startBeforeUptimeMs: finiteOr0(Math.floor(facts.nodeUptimeMs + limits.startWindowMs)),
    controller: state.controller ?? '',
    term: state.term ?? 0,
  }
}

function commandOf(shot: ShotFields, facts: Facts, { purpose }: ShotWish): OpenCommand {
  return {
    commandId: shot.id,
    node: shot.node,
    pump: shot.pump,
    stock: shot.stock,
    planId: shot.planId,
    volumeUl: shot.volumeUl,
    runMs: shot.runMs,
    rateUlPerS: facts.rateUlPerS,
    boot: shot.boot,
    startBeforeUptimeMs: shot.startBeforeUptimeMs,
    judgedAtMs: facts.atMs,
    totalRunMs: facts.totalRunMs,
    doubtMs: facts.doubtMs,
    status: 'open',
    sent: false,
    ...(purpose === 'calibration' ? { purpose } : {}),
  }
}

function refusal(row: Interlock, wish: ShotWish, facts: Facts, limits: Limits): Refusal {
  const waitMs = row.waitMs?.(wish, facts, limits) ?? null
  const sentence = `Refused ${tellVolume(wish.volumeUl)} of ${wish.stock}: ${row.found(wish, facts, limits)}.`
  if (waitMs === null) return { interlock: row.id, sentence }
  const notBeforeMs = Math.ceil(facts.atMs + waitMs)
  return { interlock: row.id, sentence: `${sentence} Next chance in ${tellWait(waitMs)}.`, notBeforeMs }
}

function finiteOr0(value: number): number {
  return Number.isFinite(value) ? value : 0
}
