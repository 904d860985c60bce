/** What people bring: laboratory results, acts by hand, instructions that concern the core. */

import { ELEMENTS, isElementName, toVector } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { BoardChange } from '../core/alarm/alarm-board.ts'
import { acknowledgeAlarm, shelveAlarm, shelvingRefused, unshelveAlarm } from '../core/alarm/persons-word.ts'
import type { StepAct } from '../core/estimate/grid-step.ts'
import { type Taken, takeCohort, takeWaterAct, withdrawLaboratory } from '../core/observe.ts'
import type { CoreState } from '../core/state.ts'
import { onAct } from '../safety/on-act.ts'
import { tellChanges } from './alarm-effects.ts'
import type { Effect } from './effect.ts'
import { tellHappening } from './happening-effects.ts'
import type {
  Act,
  ActInput,
  InstructionInput,
  LaboratoryDecisionInput,
  LaboratoryInput,
  LaboratoryWithdrawalInput,
  SpotReadingInput,
} from './input.ts'
import { decideResult, takeResult, withoutHeld } from './laboratory-desk.ts'
import { refuse } from './refusal.ts'
import { takeSpotReading } from './spot-reading.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'
import { watchAct } from './watch-act.ts'

type PeopleInput =
  | LaboratoryInput
  | LaboratoryWithdrawalInput
  | LaboratoryDecisionInput
  | SpotReadingInput
  | ActInput
  | InstructionInput

/** Folds a person’s word into the core. What is refused leaves everything as it was and says why. */
export function foldPeople(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: PeopleInput,
  effects: Effect[],
): ReservoirState {
  // a limit is changed before anything else of its step
  if (input.kind === 'instruction')
    return input.instruction.instruction === 'limit' ? state : instruct(settings, state, input, effects)
  const { core } = state
  if (!core) return refuse(state, `the ${input.kind}`, 'the reservoir has not been started yet', effects)
  switch (input.kind) {
    case 'laboratory-result':
      return takeResult(settings, state, core, input, effects)
    case 'laboratory-withdrawal': {
      const without = withdrawLaboratory(core, input.id)
      const rest = withoutHeld(state, input.id)
      if (without === core && rest === state)
        return refuse(state, `the withdrawal of ${input.id}`, NO_SUCH_REPORT, effects)
      effects.push({
        kind: 'record',
        record: { kind: 'laboratory-withdrawn', atMs: input.atMs, by: input.by, id: input.id },
      })
      return { ...rest, core: without }
    }
    case 'laboratory-decision':
      return decideResult(state, core, input, effects)
    case 'spot-reading':
      return takeSpotReading(state, core, input, effects)
    case 'act': {
      const taken = takeAct(settings, core, input.act, input.atMs)
      if (taken.kind === 'refused') return refuse(state, `the act ${input.act.act}`, taken.why, effects)
      effects.push({ kind: 'record', record: { kind: 'act', atMs: input.atMs, by: input.by, act: input.act } })
      const watch = watchAct(state.watch, input.act)
      return letSafetyHearAct(settings, { ...state, watch, core: taken.state }, input, effects)
    }
  }
}

/** Safety hears of an act once it is taken, so that what it hears is what a record will tell it again. */
function letSafetyHearAct(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: ActInput,
  effects: Effect[],
): ReservoirState {
  const heard = onAct(settings.limits, state.safety, input)
  let next: ReservoirState = { ...state, safety: heard.state }
  for (const happening of heard.happenings) next = tellHappening(settings, next, happening, effects)
  return next
}

const NO_SUCH_REPORT = 'no kept step has a result of this id; see the ledger for the ids there are'

/** An act by hand, as the core takes it; also used when records are folded at a start. */
export function takeAct(settings: ReservoirSettings, core: CoreState, act: Act, atMs: number): Taken {
  if (!Number.isFinite(act.doneAtMs)) return { kind: 'refused', why: 'it has no time' }
  switch (act.act) {
    case 'salt-added': {
      const perG = Object.hasOwn(settings.salts, act.salt) ? settings.salts[act.salt] : undefined
      if (!perG)
        return {
          kind: 'refused',
          why: `no salt "${act.salt}" on the shelf; there are ${Object.keys(settings.salts).join(', ')}`,
        }
      const { massG } = act
      const mostG = SALT_MOST_G_PER_L * settings.core.reservoir.volumeMaxL
      if (!isUpTo(mostG, massG))
        return { kind: 'refused', why: `a mass of ${massG} g; above 0 and up to ${mostG} g can be` }
      return takeWaterAct(
        core,
        { act: 'added', mmol: perG.map((mmol) => mmol * massG), relativeSd: 0.03 },
        act.doneAtMs,
        atMs,
      )
    }
    case 'drained':
    case 'topped-up': {
      const { volumeL } = act
      const mostL = FILLS_MOST * settings.core.reservoir.volumeMaxL
      if (!isUpTo(mostL, volumeL))
        return { kind: 'refused', why: `a volume of ${volumeL} L; above 0 and up to ${mostL} L can be` }
      return takeWaterAct(core, { act: act.act, volumeL } satisfies StepAct, act.doneAtMs, atMs)
    }
    case 'stock-refilled':
    case 'bottle-weighed':
      return takeStockAct(settings, core, act, atMs)
    case 'changed':
      return takeChange(settings, core, act, atMs)
    case 'rinsed':
    case 'probe-checked':
    case 'noted':
      return { kind: 'taken', state: core }
    case 'transplanted':
    case 'harvested':
      return takeCropAct(settings, core, act)
  }
}

/** A bottle mixed anew or weighed. */
function takeStockAct(
  settings: ReservoirSettings,
  core: CoreState,
  act: Extract<Act, { act: 'stock-refilled' | 'bottle-weighed' }>,
  atMs: number,
): Taken {
  const stockIndex = settings.core.stocks.findIndex((stock) => stock.id === act.stock)
  if (stockIndex < 0) return { kind: 'refused', why: `no stock "${act.stock}"` }
  if (act.act === 'bottle-weighed') {
    if (!isUpTo(BOTTLE_MOST_G, act.massG))
      return { kind: 'refused', why: `a mass of ${act.massG} g; above 0 and up to ${BOTTLE_MOST_G} g can be` }
    return takeWaterAct(core, { act: 'bottle-weighed', stockIndex, massG: act.massG }, act.doneAtMs, atMs)
  }
  const strength = act.batch?.strength
  if (strength !== undefined && !(strength >= STRENGTH_LEAST && strength <= 1 / STRENGTH_LEAST))
    return { kind: 'refused', why: `a strength of ${strength}; ${STRENGTH_LEAST} to ${1 / STRENGTH_LEAST} can be` }
  const refilled = { act: 'stock-refilled', stockIndex, ...(strength === undefined ? {} : { strength }) } as const
  return takeWaterAct(core, refilled, act.doneAtMs, atMs)
}

/** What a person may name instead. */
function thereAre(named: readonly { readonly id: string }[]): string {
  return named.length === 0 ? 'there is none' : `there are ${named.map(({ id }) => id).join(', ')}`
}

/** Plants that came or went. */
function takeCropAct(
  settings: ReservoirSettings,
  core: CoreState,
  act: Extract<Act, { act: 'transplanted' | 'harvested' }>,
): Taken {
  if (act.act === 'harvested') {
    const cohort = core.cohorts.find((candidate) => candidate.id === act.cohort)
    if (!cohort) return { kind: 'refused', why: `no cohort "${act.cohort}"; ${thereAre(core.cohorts)}` }
    return { kind: 'taken', state: takeCohort(core, { ...cohort, harvestedAtMs: act.doneAtMs }, act.doneAtMs) }
  }
  if (!settings.core.crops.some((crop) => crop.id === act.crop))
    return { kind: 'refused', why: `no crop "${act.crop}"; ${thereAre(settings.core.crops)}` }
  if (!isUpTo(PLANTS_MOST, act.plants))
    return { kind: 'refused', why: `${act.plants} plants; above 0 and up to ${PLANTS_MOST} can be` }
  const cohort = { id: act.cohort, crop: act.crop, plants: act.plants, transplantedAtMs: act.doneAtMs }
  return { kind: 'taken', state: takeCohort(core, cohort, act.doneAtMs) }
}

/** Part or all of the solution let go, and water or a new fill in its place. */
function takeChange(
  settings: ReservoirSettings,
  core: CoreState,
  act: Extract<Act, { act: 'changed' }>,
  atMs: number,
): Taken {
  const { drainedL, filledL, doneAtMs } = act
  const mostL = FILLS_MOST * settings.core.reservoir.volumeMaxL
  for (const volumeL of [drainedL, filledL]) {
    if (!isUpTo(mostL, volumeL))
      return { kind: 'refused', why: `a volume of ${volumeL} L; above 0 and up to ${mostL} L can be` }
  }
  if (!act.fill) return takeWaterAct(core, { act: 'changed', drainedL, filledL }, doneAtMs, atMs)
  const wrong = Object.entries(act.fill).find(
    ([name, mgPerL]) => !isElementName(name) || !(mgPerL >= 0 && mgPerL <= 1e5),
  )
  if (wrong) return { kind: 'refused', why: `${wrong[0]} of ${wrong[1]} mg/L; tracked elements from 0 mg/L can be` }
  const mmolPerL = toVector(Object.fromEntries(ELEMENTS.map((name) => [name, toMmolPerL(name, act.fill?.[name] ?? 0)])))
  return takeWaterAct(core, { act: 'changed', drainedL, filledL, mmolPerL }, doneAtMs, atMs)
}

/** Beyond these an amount is a slip of the pen, which no later reading could put right: no solution, no bench. Judgement. */
const SALT_MOST_G_PER_L = 100
const FILLS_MOST = 10
const PLANTS_MOST = 100_000
const BOTTLE_MOST_G = 1_000_000
const STRENGTH_LEAST = 0.2

function isUpTo(most: number, value: number): boolean {
  return value > 0 && value <= most
}

function instruct(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: InstructionInput,
  effects: Effect[],
): ReservoirState {
  const { core } = state
  const { atMs, by, reason, instruction } = input
  const refusal =
    instruction.instruction === 'shelve' ? shelvingRefused(instruction.alarm, instruction.untilMs, atMs) : undefined
  if (refusal !== undefined) return refuse(state, 'the shelving', refusal, effects)
  effects.push({ kind: 'record', record: { kind: 'instructed', atMs, by, reason, instruction } })
  effects.push({ kind: 'notification', event: 'instructed', text: `${by}: ${instruction.instruction} (${reason})` })
  if (instruction.instruction === 'approve' && instruction.planId !== core?.plan?.id) {
    const why = core?.plan ? `the plan of the hour is ${core.plan.id}` : 'there is no plan yet'
    effects.push({ kind: 'notification', event: 'refused', text: `Nothing comes of it: ${why}.` })
  }
  if (instruction.instruction === 'calibrate')
    return core ? { ...state, core: calibrate(settings, core, instruction, atMs) } : state
  if (instruction.instruction === 'reset-learning') return core ? { ...state, core: resetLearning(core, atMs) } : state
  const changed = wordOnAlarm(state, input)
  return changed ? tellChanges(settings, state, changed, effects) : state
}

function wordOnAlarm({ alarms, atMs }: ReservoirState, { by, instruction }: InstructionInput): BoardChange | undefined {
  switch (instruction.instruction) {
    case 'acknowledge':
      return acknowledgeAlarm(alarms, instruction.alarm, by)
    case 'shelve':
      return shelveAlarm(alarms, { alarm: instruction.alarm, untilMs: instruction.untilMs, by, atMs })
    case 'unshelve':
      return unshelveAlarm(alarms, instruction.alarm)
    default:
      return undefined
  }
}

/** What was learned of crop and probe is forgotten from this step on; what is in the water stays known as it was. */
export function resetLearning(core: CoreState, atMs: number): CoreState {
  const taken = takeWaterAct(core, { act: 'learning-reset' }, atMs, atMs)
  return taken.kind === 'taken' ? taken.state : core
}

/** A probe’s new slope and offset, in its inside unit; the estimate forgets what it had learned of its error. */
export function calibrate(
  settings: ReservoirSettings,
  core: CoreState,
  calibration: { readonly probe: string; readonly slope: number; readonly offset: number },
  atMs: number,
): CoreState {
  const { probe, slope, offset } = calibration
  const calibrations = core.sense.calibrations.map((kept, at) =>
    settings.core.probes[at]?.id === probe ? { slope, offset } : kept,
  )
  const calibrated = { ...core, sense: { ...core.sense, calibrations } }
  const role = settings.core.probes.find(({ id }) => id === probe)?.role
  if (role !== 'level' && role !== 'conductivity' && role !== 'ph') return calibrated
  const taken = takeWaterAct(calibrated, { act: 'calibrated', role }, atMs, atMs)
  return taken.kind === 'taken' ? taken.state : calibrated
}
