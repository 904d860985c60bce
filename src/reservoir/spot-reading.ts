/** A person’s handheld reading on its way to the core. */

import { isElementName } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import { judgeSpot, PROBATION_READINGS, type SpotVerdict, type StepSpot, spotSource } from '../core/estimate/spot.ts'
import { type Taken, takeSpot } from '../core/observe.ts'
import type { CoreState } from '../core/state.ts'
import type { Effect } from './effect.ts'
import type { SpotReading, SpotReadingInput } from './input.ts'
import { refuse } from './refusal.ts'
import type { ReservoirState } from './state.ts'

/** Takes a reading into the step in which it was read, and says what is made of it. */
export function takeSpotReading(
  state: ReservoirState,
  core: CoreState,
  input: SpotReadingInput,
  effects: Effect[],
): ReservoirState {
  const { atMs, by, reading } = input
  const taken = takeReading(core, by, reading, atMs)
  const what = `the reading of ${reading.quantity} by ${by}`
  if (taken.kind === 'refused') return refuse(state, what, taken.why, effects)
  effects.push({ kind: 'record', record: { kind: 'spot', atMs, by, reading } })
  effects.push({ kind: 'notification', event: 'spot-reading', text: `${sentence(core, by, reading)}` })
  return { ...state, core: taken.state }
}

/** A reading as the core takes it; also used when records are folded at a start. */
export function takeReading(core: CoreState, by: string, reading: SpotReading, atMs: number): Taken {
  const spot = stepSpot(by, reading)
  return typeof spot === 'string' ? { kind: 'refused', why: spot } : takeSpot(core, spot, atMs)
}

/** A handheld ion meter repeats itself within a twentieth, an EC pen within 2 %, a pH pen within 0.05. Judgement. */
const OWN_SD = { element: 0.05, conductivity: 0.02, ph: 0.05 } as const

/** Beyond these a value is a slip of the pen or of the unit: mg/L, dS/m, pH. */
const MOST = { element: 5000, conductivity: 20, ph: 12 } as const

function stepSpot(by: string, { quantity, value, sd, readAtMs }: SpotReading): StepSpot | string {
  const kind = quantity === 'conductivity' || quantity === 'ph' ? quantity : 'element'
  if (kind === 'element' && !isElementName(quantity)) return `${quantity} is not tracked`
  if (!(value > 0 && value <= MOST[kind])) return `a value of ${value}; above 0 and up to ${MOST[kind]} can be`
  if (!Number.isFinite(readAtMs)) return 'it has no time'
  if (sd !== undefined && !(sd > 0 && sd <= MOST[kind])) return `a standard deviation of ${sd}; above 0 is allowed`
  const ownSd = sd ?? (kind === 'ph' ? OWN_SD.ph : OWN_SD[kind] * value)
  const inside = (mgPerL: number): number => (isElementName(quantity) ? toMmolPerL(quantity, mgPerL) : mgPerL)
  return { by, quantity, value: inside(value), sd: inside(ownSd), readAtMs }
}

/** Told against the belief of now; what is made of it in the end is what the step it was read in makes of it. */
function sentence(core: CoreState, by: string, reading: SpotReading): string {
  const spot = stepSpot(by, reading)
  if (typeof spot === 'string') return spot
  const { filter } = core.history
  const verdict = judgeSpot(filter, filter.memory, spot)
  const agreed = filter.memory.spots[spotSource(spot)]?.agreed ?? 0
  return `${by} read ${reading.quantity} ${reading.value}: ${madeOfIt(verdict, agreed)}`
}

function madeOfIt(verdict: SpotVerdict, agreed: number): string {
  if (verdict.kind === 'wild')
    return 'too far from the estimate for a handheld reading, so it is kept and moves nothing. Check the device in a standard, and send a sample if it stands.'
  const sigmas = `${verdict.sigmas.toFixed(1)} standard deviations from the estimate`
  return verdict.kind === 'trusted'
    ? `${sigmas}; taken with its own uncertainty.`
    : `${sigmas}; on probation, it agreed with the laboratory ${agreed} of ${PROBATION_READINGS} times, so little is made of it yet.`
}
