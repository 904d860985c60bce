// Volumes of all stocks at once: nutrients by the quadratic program, acid and base by their own rule.

import { type AcidChoice, chooseAcid } from './acid-choice.ts'
import type { Dosable } from './dosable.ts'
import { type Binding, chooseDoses, type DoseAnswer, type DoseQuestion } from './dose-program.ts'
import { afterTaking, sharedBounds } from './element-share.ts'
import { comfortMmolPerL, isMicro, isNeverRaised, type LevelPath, raised, yielding } from './level-path.ts'
import type { PlanInput } from './plan-input.ts'

/** Volumes of all stocks for one interval, with what they were chosen by. */
export interface Choice {
  readonly kind: 'choice'
  /** with what the acid brings counted in */
  readonly paths: readonly LevelPath[]
  readonly dosables: readonly Dosable[]
  readonly volumeUl: readonly number[]
  readonly binding: Binding
  readonly acid: AcidChoice
}

export type NoAnswer = Extract<DoseAnswer, { kind: 'no-answer' }>

/** More rounds than are ever needed; what is still unsettled after them is for the next plan. */
const ROUNDS_MAX = 8
/** Settled when the alkalinity of the doses moves by less than this, meq/L. */
const SETTLED_MEQ_PER_L = 1e-4

/**
 * Acid and nutrients depend on each other: nitric acid brings nitrate, and a stock may bring alkalinity. They are
 * chosen in turn until neither moves; without alkaline stocks that is the first round.
 */
export function chooseVolumes(
  input: PlanInput,
  undosed: readonly LevelPath[],
  dosables: readonly Dosable[],
): Choice | NoAnswer {
  const nutrients = dosables.map((dosable) => (isStrong(dosable) ? { ...dosable, maxUl: 0 } : dosable))
  let dosesMeq = 0
  for (let round = 1; ; round++) {
    const acid = chooseAcid(input, undosed, dosables, dosesMeq)
    const paths = acid.at === undefined ? undosed : withAcid(undosed, dosables[acid.at]!, acid.volumeUl)
    const answer = askForMacros(withoutAcids(input, dosables, acid), paths, nutrients)
    if (answer.kind === 'no-answer') return answer
    const broughtMeq = answer.volumeMl.reduce((sum, ml, s) => sum + ml * nutrients[s]!.meqPerMl, 0)
    if (Math.abs(broughtMeq - dosesMeq) <= SETTLED_MEQ_PER_L * input.estimate.volumeL || round === ROUNDS_MAX) {
      const volumeUl = Array.from(answer.volumeMl, (ml, s) => (s === acid.at ? acid.volumeUl : 1000 * ml))
      return { kind: 'choice', paths: answer.paths, dosables, volumeUl, binding: answer.binding, acid }
    }
    dosesMeq = broughtMeq
  }
}

type Doses = Extract<DoseAnswer, { kind: 'doses' }> & { readonly paths: readonly LevelPath[] }

/**
 * Micronutrients ride in stocks that bring macronutrients, and no want of theirs may drive one of those out of its band:
 * where that would happen, the volumes that the macronutrients alone ask for are the measure.
 */
function askForMacros(input: PlanInput, paths: readonly LevelPath[], dosables: readonly Dosable[]): Doses | NoAnswer {
  const together = askYielding(input, paths, dosables)
  if (together.kind === 'no-answer' || areMacrosWell(together, dosables)) return together
  const alone = askYielding(input, paths.map(unwanted), dosables)
  if (alone.kind === 'no-answer') return together
  const levelsAlone = endLevels(alone, dosables)
  const levels = endLevels(together, dosables)
  const isStarved = paths.some(
    (path, e) =>
      !isMicro(path) && levels[e]! < Math.min(levelsAlone[e]!, path.protectedMmolPerL) - SMALL_SHARE * path.band.low,
  )
  if (isStarved) return { ...alone, paths: together.paths }
  const isDriven = paths.some(
    (path, e) => !isMicro(path) && levels[e]! > Math.max(levelsAlone[e]!, comfortMmolPerL(path)),
  )
  if (!isDriven) return together
  const held = paths.map((path, e) =>
    isMicro(path)
      ? path
      : { ...path, ceilingMmolPerL: Math.min(path.ceilingMmolPerL, Math.max(levelsAlone[e]!, comfortMmolPerL(path))) },
  )
  return askYielding(input, held, dosables)
}

/** A thousandth of the low edge is no starving. */
const SMALL_SHARE = 1e-3

/** The same path with nobody asking for its micronutrient; what is toxic keeps its ceiling. */
function unwanted(path: LevelPath): LevelPath {
  if (!isMicro(path)) return path
  const ceiling = isNeverRaised(path) ? path.ceilingMmolPerL : Number.POSITIVE_INFINITY
  return {
    ...path,
    ...{ targetMmolPerL: undefined, protectedMmolPerL: 0 },
    ...{ pricedAboveMmolPerL: undefined, ceilingMmolPerL: ceiling },
  }
}

function areMacrosWell(answer: Doses, dosables: readonly Dosable[]): boolean {
  const levels = endLevels(answer, dosables)
  return answer.paths.every(
    (path, e) =>
      isMicro(path) ||
      path.targetMmolPerL === undefined ||
      (levels[e]! >= path.protectedMmolPerL - SMALL_SHARE * path.band.low && levels[e]! <= comfortMmolPerL(path)),
  )
}

function endLevels({ paths, volumeMl }: Doses, dosables: readonly Dosable[]): Float64Array {
  return Float64Array.from(paths, (path, e) =>
    dosables.reduce((level, { mmolPerLPerMl }, s) => level + mmolPerLPerMl[e]! * volumeMl[s]!, path.undosedMmolPerL),
  )
}

/**
 * High edges are kept, unless one of them would hold a macronutrient below its band: then that one yields at a price.
 */
function askYielding(input: PlanInput, paths: readonly LevelPath[], dosables: readonly Dosable[]): Doses | NoAnswer {
  const strict = ask(input, paths, dosables)
  if (strict.kind === 'no-answer') return strict
  const levelAtEnd = (e: number) =>
    dosables.reduce(
      (sum, { mmolPerLPerMl }, s) => sum + mmolPerLPerMl[e]! * strict.volumeMl[s]!,
      paths[e]!.undosedMmolPerL,
    )
  const starved = paths.some(
    (path, e) => !isMicro(path) && path.targetMmolPerL !== undefined && levelAtEnd(e) < path.band.low,
  )
  if (!starved || strict.binding.elements.length === 0) return { ...strict, paths }
  const eased = paths.map((path, e) => (strict.binding.elements.includes(e) ? yielding(path) : path))
  const answer = ask(input, eased, dosables)
  return answer.kind === 'no-answer' ? answer : { ...answer, paths: eased }
}

function ask(input: PlanInput, paths: readonly LevelPath[], dosables: readonly Dosable[]): DoseAnswer {
  const { conductivityDsPerMPerMmolPerL } = input.responses
  const drift = paths.reduce(
    (sum, path, e) => sum + conductivityDsPerMPerMmolPerL[e]! * (path.undosedMmolPerL - path.presentMmolPerL),
    0,
  )
  const undosedDsPerM = input.estimate.conductivityDsPerM + drift
  const room = Math.max(0, input.settings.planning.conductivityMaxDsPerM - undosedDsPerM)
  const parity = parityOf(input)
  const stocks = dosables.map(({ settings }) => settings.id)
  return chooseDoses({
    ...{ paths, dosables, conductivityDsPerMPerMmolPerL, conductivityRoomDsPerM: room },
    shared: sharedBounds(input.headroom, stocks),
    ...(parity === undefined ? {} : { parity }),
  })
}

function parityOf({ settings }: PlanInput): DoseQuestion['parity'] {
  const { parity } = settings.planning
  if (parity === undefined) return undefined
  const [one, other] = parity.stocks.map((name) => settings.stocks.findIndex(({ id }) => id === name))
  return one! < 0 || other! < 0 ? undefined : { stocks: [one!, other!], windowShare: parity.windowShare }
}

function withAcid(paths: readonly LevelPath[], acid: Dosable, volumeUl: number): LevelPath[] {
  return paths.map((path, e) => raised(path, (acid.mmolPerLPerMl[e]! * volumeUl) / 1000))
}

/** What the acid takes of a capped element the others have no more. */
function withoutAcids(input: PlanInput, dosables: readonly Dosable[], { at, volumeUl }: AcidChoice): PlanInput {
  if (at === undefined) return input
  return { ...input, headroom: afterTaking(input.headroom, dosables[at]!.settings.id, volumeUl) }
}

function isStrong({ settings }: Dosable): boolean {
  return settings.kind === 'acid' || settings.kind === 'base'
}
