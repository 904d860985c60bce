// Volumes of all stocks at once: nutrients by the quadratic program, acid and base by their own rule.

import { type AcidChoice, chooseAcid } from './acid-choice.ts'
import type { Dosable } from './dosable.ts'
import { type Binding, chooseDoses, type DoseAnswer } from './dose-program.ts'
import { type LevelPath, raised, yielding } from './level-path.ts'
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
    const answer = askYielding(input, paths, nutrients)
    if (answer.kind === 'no-answer') return answer
    const broughtMeq = answer.volumeMl.reduce((sum, ml, s) => sum + ml * nutrients[s]!.meqPerMl, 0)
    if (Math.abs(broughtMeq - dosesMeq) <= SETTLED_MEQ_PER_L * input.estimate.volumeL || round === ROUNDS_MAX) {
      const volumeUl = Array.from(answer.volumeMl, (ml, s) => (s === acid.at ? acid.volumeUl : 1000 * ml))
      return { kind: 'choice', paths: answer.paths, dosables, volumeUl, binding: answer.binding, acid }
    }
    dosesMeq = broughtMeq
  }
}

/**
 * High edges are kept, unless one of them would hold another element below its band: then that one yields at a price.
 */
function askYielding(
  input: PlanInput,
  paths: readonly LevelPath[],
  dosables: readonly Dosable[],
): (Extract<DoseAnswer, { kind: 'doses' }> & { paths: readonly LevelPath[] }) | NoAnswer {
  const strict = ask(input, paths, dosables)
  if (strict.kind === 'no-answer') return strict
  const levelAtEnd = (e: number) =>
    dosables.reduce(
      (sum, { mmolPerLPerMl }, s) => sum + mmolPerLPerMl[e]! * strict.volumeMl[s]!,
      paths[e]!.undosedMmolPerL,
    )
  const starved = paths.some((path, e) => path.targetMmolPerL !== undefined && levelAtEnd(e) < path.band.low)
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
  return chooseDoses({ paths, dosables, conductivityDsPerMPerMmolPerL, conductivityRoomDsPerM: room })
}

function withAcid(paths: readonly LevelPath[], acid: Dosable, volumeUl: number): LevelPath[] {
  return paths.map((path, e) => raised(path, (acid.mmolPerLPerMl[e]! * volumeUl) / 1000))
}

function isStrong({ settings }: Dosable): boolean {
  return settings.kind === 'acid' || settings.kind === 'base'
}
