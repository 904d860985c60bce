import { closeUnsettled, isUnsettledName } from './close-unsettled.ts'
import { withFreshEffect } from './effect-state.ts'
import { quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import { type Limits, stockLimitsOf } from './limits.ts'
import type { SafetyState } from './state.ts'
import type { Mode } from './types.ts'

export type SafetyInstruction =
  | { readonly instruction: 'mode'; readonly mode: Mode }
  | { readonly instruction: 'approve'; readonly planId: string }
  | { readonly instruction: 'hold' }
  | { readonly instruction: 'release' }
  | { readonly instruction: 'sanitise'; readonly phase: 'begin' | 'end' }
  | { readonly instruction: 'reset'; readonly trip: string }
  | { readonly instruction: 'pump-rate'; readonly stock: string; readonly rateMlPerMin: number }
  /** approved beforehand, for the day a probe or the estimator is lost; ends by itself */
  | { readonly instruction: 'ration'; readonly decision: 'approve' | 'withdraw' }
  /** none of safety’s business */
  | { readonly instruction: 'acknowledge' | 'calibrate' }

/**
 * A calibrated rate may differ this much from the rate in the limits. Tubes lose 5 to 15 % over their life; half or
 * double is a slip of the pen, or another pump (our judgement, no source).
 */
const RATE_SHARE_MIN = 0.5
const RATE_SHARE_MAX = 2

/** A person’s word on mode, hold, trips, plans and pump rates. */
export function onInstruction(
  limits: Limits,
  state: SafetyState,
  input: {
    readonly atMs: number
    readonly by: string
    readonly reason: string
    readonly instruction: SafetyInstruction
  },
): Transition {
  const { atMs, by, reason, instruction } = input
  switch (instruction.instruction) {
    case 'mode':
      return setMode(state, instruction.mode, input)
    case 'approve':
      if (!isSigned(input)) return refuse(state, 'approve', 'it needs a name and a reason; say who approves it and why')
      return quietly({ ...state, approved: { planId: instruction.planId, by, atMs } })
    case 'hold':
      // What was approved before the hold was approved without knowing its reason.
      return withLeases(quietly({ ...state, held: { by, reason, atMs }, approved: null }))
    case 'release':
      if (!isSigned(input)) return refuse(state, 'release', 'it needs a name and a reason; say who releases it and why')
      return withLeases(quietly({ ...state, held: null }))
    case 'sanitise':
      return instruction.phase === 'begin' ? beginSanitise(state, atMs) : endSanitise(state, input)
    case 'reset':
      return isUnsettledName(instruction.trip)
        ? closeUnsettled(limits, state, { atMs, name: instruction.trip, isSigned: isSigned(input) })
        : reset(state, instruction.trip, input)
    case 'pump-rate':
      return setRate(limits, state, instruction.stock, instruction.rateMlPerMin)
    case 'ration':
      return instruction.decision === 'approve' ? approveRation(limits, state, input) : withdrawRation(state)
    case 'acknowledge':
    case 'calibrate':
      return quietly(state)
  }
}

interface Word {
  readonly atMs: number
  readonly by: string
  readonly reason: string
}

function refuse(state: SafetyState, instruction: string, why: string): Transition {
  return { state, happenings: [{ kind: 'instruction-refused', instruction, why }] }
}

/** What loosens must say who and why; what makes safer is free. */
function isSigned({ by, reason }: Word): boolean {
  return by.trim() !== '' && reason.trim() !== ''
}

const RANK: Readonly<Record<Mode, number>> = { observe: 0, advise: 1, automatic: 2 }

function setMode(state: SafetyState, mode: Mode, word: Word): Transition {
  const isUpward = !(RANK[mode] <= RANK[state.mode])
  if (isUpward && !isSigned(word)) {
    return refuse(state, 'mode', `from ${state.mode} to ${mode} needs a name and a reason; say who raises it and why`)
  }
  return withLeases(quietly({ ...state, mode, approved: null }))
}

function approveRation(limits: Limits, state: SafetyState, word: Word): Transition {
  if (limits.ration === undefined) return refuse(state, 'ration', 'the limits file has no section ration')
  if (!isSigned(word)) return refuse(state, 'ration', 'it needs a name and a reason; say who approves it and why')
  return quietly({ ...state, ration: { by: word.by, atMs: word.atMs } })
}

function withdrawRation(state: SafetyState): Transition {
  return quietly({ ...state, ration: null })
}

function beginSanitise(state: SafetyState, atMs: number): Transition {
  return withLeases(quietly({ ...state, sanitise: { phase: 'sanitising', sinceMs: atMs }, approved: null }))
}

function endSanitise(state: SafetyState, word: Word): Transition {
  if (state.sanitise?.phase !== 'sanitising') return refuse(state, 'sanitise', 'the system is not being sanitised')
  if (!isSigned(word)) return refuse(state, 'sanitise', 'its end needs a name and a reason; say who ends it and why')
  return withLeases(quietly({ ...state, sanitise: { phase: 'to-rinse', sinceMs: word.atMs } }))
}

function reset(state: SafetyState, trip: string, word: Word): Transition {
  if (!isSigned(word)) return refuse(state, 'reset', 'it needs a name and a reason; say who resets it and why')
  const trips = state.trips.filter((latched) => latched.trip !== trip)
  if (trips.length < state.trips.length) return withLeases(quietly({ ...lookedAt(state, trip), trips }))
  const latched = state.trips.map((entry) => entry.trip).join(', ')
  const why = `${trip} is not latched${latched === '' ? '; nothing is' : `; what is: ${latched}`}`
  return { state, happenings: [{ kind: 'instruction-refused', instruction: 'reset', why }] }
}

/** Who resets a trip about an effect has looked at the stock; one rebuilt from its record may be about any. */
function lookedAt(state: SafetyState, trip: string): SafetyState {
  if (!trip.startsWith('effect-')) return state
  const subjects = state.trips.filter((latched) => latched.trip === trip).map(({ subject }) => subject)
  const stocks = Object.keys(state.effects).filter((stock) => subjects.includes(stock) || subjects.includes(''))
  return stocks.reduce(withFreshEffect, state)
}

function setRate(limits: Limits, state: SafetyState, stock: string, rateMlPerMin: number): Transition {
  const entry = stockLimitsOf(limits, stock)
  if (entry === null) {
    const why = `${stock} has no limits, so its pump rate is of no use; give it an entry in the limits file first`
    return { state, happenings: [{ kind: 'instruction-refused', instruction: 'pump-rate', why }] }
  }
  const rateUlPerS = (rateMlPerMin * 1000) / 60
  const isLikely = rateUlPerS >= entry.rateUlPerS * RATE_SHARE_MIN && rateUlPerS <= entry.rateUlPerS * RATE_SHARE_MAX
  if (isLikely) return quietly({ ...state, ratesUlPerS: { ...state.ratesUlPerS, [stock]: rateUlPerS } })
  const siteMlPerMin = (entry.rateUlPerS * 60) / 1000
  const why =
    `${rateMlPerMin} mL/min for ${stock} is not between ${siteMlPerMin * RATE_SHARE_MIN} and ` +
    `${siteMlPerMin * RATE_SHARE_MAX} mL/min; measure again, or change the site’s rate if the pump was changed`
  return { state, happenings: [{ kind: 'instruction-refused', instruction: 'pump-rate', why }] }
}
