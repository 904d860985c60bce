// The planner: from an estimate and a forecast to doses, shots and what a person should know. Proposes, never acts.

import { type Dosable, findDosables } from './dosable.ts'
import { type Choice, chooseVolumes } from './dose-choice.ts'
import { acidReason, baseReason, chiefElement, nutrientReason } from './dose-reason.ts'
import { fitsElements, withinElements } from './element-share.ts'
import { tracePaths } from './level-path.ts'
import type { LeftVolume, Plan, PlanDose } from './plan.ts'
import { findPlanFault } from './plan-fault.ts'
import type { PlanInput } from './plan-input.ts'
import { noteBlocks, noteConductivity, noteDropped, noteLeft } from './plan-note.ts'
import { noteShortages, type Outcome } from './shortage.ts'
import { layShots, type ShotBatch } from './shot-layout.ts'
import { toShots } from './shot-volume.ts'
import { noteSurpluses } from './surplus.ts'

/**
 * Doses, shots and notes for the next interval. Pure: the same input gives the same plan.
 *
 * Uptake is replaced in full, a share of each gap to the aim is closed that shrinks with doubt, the low edge is kept
 * with a margin, high edges and conductivity bound the doses, and nothing is planned beyond the headroom. Acid meets
 * the alkalinity of make-up water and crop first and trims little.
 *
 * @returns a plan without doses, and a note, when the input holds something that is not a number or no answer of the
 *   solver could be verified. Never throws for such input.
 */
export function plan(input: PlanInput): Plan {
  const fault = findPlanFault(input)
  if (fault !== undefined) return noPlan(input, 'no-estimate', `Nothing is dosed: ${fault}.`)
  const dosables = findDosables(input)
  const choice = chooseVolumes(input, tracePaths(input), dosables)
  if (choice.kind === 'no-answer')
    return noPlan(input, 'solver', `Nothing is dosed: no sure answer (${choice.explanation}).`)
  return arrange(input, choice)
}

/** Volumes become shots with their times; what is too small is left, what finds no time is dropped. */
function arrange(input: PlanInput, choice: Choice): Plan {
  const { dosables, paths, acid } = choice
  const untilMs = input.atMs + input.forecast.intervalMs
  const left: LeftVolume[] = []
  const batches: ShotBatch[] = []
  const volumesUl = withinElements(input.headroom, volumesOf(choice))
  for (const [s, dosable] of dosables.entries()) {
    const stock = dosable.settings.id
    const withoutUl = volumesUl.get(stock)!
    const withUl = withOwed(input, choice, s, withoutUl)
    if (fitsElements(input.headroom, new Map([...volumesUl, [stock, Math.floor(withUl)]]))) volumesUl.set(stock, withUl)
    const { shotsUl, leftUl } = toShots(volumesUl.get(stock)!, dosable)
    if (shotsUl.length > 0) batches.push({ dosable, shotsUl })
    if (leftUl > 0) left.push({ stock, volumeUl: leftUl })
  }
  const { ph } = input.estimate
  const acidFirst = ph !== undefined && ph > input.phBand.high
  const { shots, dropped } = layShots({ atMs: input.atMs, untilMs, waits: input.waits, acidFirst, batches })
  const givenUl = dosables.map(({ settings }) =>
    shots.reduce((sum, shot) => sum + (shot.stock === settings.id ? shot.volumeUl : 0), 0),
  )
  const outcome: Outcome = { paths, dosables, volumeUl: givenUl, binding: choice.binding }
  const notes = [
    ...noteBlocks(dosables),
    ...acid.notes,
    ...noteConductivity(input, outcome),
    ...noteSurpluses(input, paths),
    ...noteShortages(
      { ...outcome, volumeUl: choice.volumeUl },
      { salts: input.settings.handSalts, volumeL: input.estimate.volumeL },
    ),
    ...noteDropped(dropped),
    ...noteLeft(left, dosables),
  ]
  return { id: input.planId, atMs: input.atMs, untilMs, doses: explain(input, choice, givenUl), shots, notes, left }
}

function volumesOf({ dosables, volumeUl }: Choice): ReadonlyMap<string, number> {
  return new Map(dosables.map(({ settings }, s) => [settings.id, volumeUl[s]!]))
}

/**
 * What earlier plans left is added where the stock is wanted anyway, and only while its elements stay below their
 * ceilings and the limits hold; else it is forgotten, since the estimate knows the shortfall.
 */
function withOwed(input: PlanInput, { dosables, paths, volumeUl }: Choice, s: number, wishedUl: number): number {
  const dosable = dosables[s]!
  const owedUl = input.owed?.find(({ stock }) => stock === dosable.settings.id)?.volumeUl ?? 0
  if (!(wishedUl > 0 && owedUl > 0 && owedUl < dosable.shotMinUl)) return wishedUl
  const togetherUl = wishedUl + owedUl
  const fits = paths.every((path, e) => {
    const level = dosables.reduce(
      (sum, { mmolPerLPerMl }, other) => sum + (mmolPerLPerMl[e]! * volumeUl[other]!) / 1000,
      path.undosedMmolPerL,
    )
    const extra = (dosable.mmolPerLPerMl[e]! * owedUl) / 1000
    return extra === 0 || level + extra <= Math.max(path.band.aim, Math.min(path.ceilingMmolPerL, path.band.high))
  })
  // gathered volume that has grown past what is left is given up to what is left, and not begun anew
  return fits ? Math.max(wishedUl, Math.min(togetherUl, dosable.maxUl)) : wishedUl
}

function explain(input: PlanInput, choice: Choice, givenUl: readonly number[]): PlanDose[] {
  const doses: PlanDose[] = []
  for (const [s, dosable] of choice.dosables.entries()) {
    const volumeUl = givenUl[s]!
    if (volumeUl === 0) continue
    doses.push({ stock: dosable.settings.id, volumeUl, ...reasonFor(input, choice, dosable, volumeUl) })
  }
  return doses
}

function reasonFor(
  input: PlanInput,
  { paths, acid }: Choice,
  dosable: Dosable,
  volumeUl: number,
): Pick<PlanDose, 'reason' | 'element'> {
  if (dosable.settings.kind === 'acid') return { reason: acidReason(input, acid.need) }
  if (dosable.settings.kind === 'base') return { reason: baseReason(input, acid.need) }
  const chief = chiefElement(paths, dosable, volumeUl / 1000)
  if (chief === undefined) throw new Error(`${dosable.settings.id} is dosed although no element calls for it`)
  return { reason: nutrientReason(input, chief, dosable, volumeUl), element: chief.element }
}

function noPlan(input: PlanInput, kind: 'no-estimate' | 'solver', text: string): Plan {
  const untilMs = input.atMs + input.forecast.intervalMs
  return {
    id: input.planId,
    atMs: input.atMs,
    untilMs,
    doses: [],
    shots: [],
    notes: [{ kind, text, figures: {} }],
    left: [],
  }
}
