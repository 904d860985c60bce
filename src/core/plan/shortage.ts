// Elements that stay short although the plan did what it may, and why: nothing brings them, or something holds it back.

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { HandSalt, StockKind } from '../settings.ts'
import { type ByHand, weighByHand } from './by-hand.ts'
import type { Dosable } from './dosable.ts'
import type { Binding } from './dose-program.ts'
import type { LevelPath } from './level-path.ts'
import type { PlanNote } from './plan.ts'
import { listed, milligrams, millilitres, spoken } from './wording.ts'

export interface Outcome {
  readonly paths: readonly LevelPath[]
  readonly dosables: readonly Dosable[]
  /** chosen volume of each stock, uL */
  readonly volumeUl: readonly number[]
  readonly binding: Binding
}

/** What a person could weigh in, and into how much. */
export interface Hands {
  readonly salts: readonly HandSalt[]
  readonly volumeL: number
}

/**
 * A note for every element that is short with no stock for it, held back below its band, or left by its carrier; with
 * the salt that a person may weigh in, where more time or wider limits would not mend it.
 */
export function noteShortages(outcome: Outcome, { salts, volumeL }: Hands): PlanNote[] {
  const notes: PlanNote[] = []
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const path = outcome.paths[at]!
    if (path.targetMmolPerL === undefined) continue
    const carriers = [...outcome.dosables.keys()].filter((s) => outcome.dosables[s]!.mmolPerLPerMl[at]! > 0)
    // looked for only where there is something to tell
    const byHand = () => weighByHand(salts, outcome.paths, at, volumeL)
    const note =
      carriers.length === 0
        ? noCarrier(path, byHand)
        : (heldBack(outcome, path, at, carriers, byHand) ?? disparity(outcome, path, at, carriers, byHand))
    if (note !== undefined) notes.push(note)
  }
  return notes
}

/** The note with what to weigh said after it. */
function withHands(note: PlanNote, byHand: ByHand | undefined): PlanNote {
  if (byHand === undefined) return note
  return { ...note, text: `${note.text} ${byHand.text}`, figures: { ...note.figures, ...byHand.figures } }
}

function noCarrier(path: LevelPath, weigh: () => ByHand | undefined): PlanNote | undefined {
  const { element, presentMmolPerL, sdMmolPerL, band } = path
  if (!(presentMmolPerL < band.low)) return undefined
  const byHand = weigh()
  const text = `${spoken(element)} is about ${milligrams(element, presentMmolPerL)} ± ${milligrams(element, sdMmolPerL, 2)} mg/L, below its low edge of ${milligrams(element, band.low)}, and no stock brings it: ${byHand === undefined ? 'put a salt of it into a stock' : 'weigh a salt by hand, or put one into a stock'}.`
  return withHands({ kind: 'no-stock', element, text, figures: { presentMmolPerL, lowMmolPerL: band.low } }, byHand)
}

function heldBack(
  outcome: Outcome,
  path: LevelPath,
  at: number,
  carriers: readonly number[],
  byHand: () => ByHand | undefined,
): PlanNote | undefined {
  const { element, band } = path
  const endMmolPerL = levelAtEnd(outcome, at)
  if (!(endMmolPerL < band.low * (1 - 1e-6))) return undefined
  const { why, passes } = reasonsHeldBack(outcome, at, carriers)
  const text = `${spoken(element)} will be about ${milligrams(element, endMmolPerL)} mg/L at the end of the interval, still below its low edge of ${milligrams(element, band.low)}: ${listed(why)}.`
  const note: PlanNote = { kind: 'held-back', element, text, figures: { endMmolPerL, lowMmolPerL: band.low } }
  return passes ? note : withHands(note, byHand())
}

/** Level at the end of the interval with the doses chosen, mmol/L. */
export function levelAtEnd({ paths, dosables, volumeUl }: Outcome, at: number): number {
  return dosables.reduce(
    (level, dosable, s) => level + (dosable.mmolPerLPerMl[at]! * volumeUl[s]!) / 1000,
    paths[at]!.undosedMmolPerL,
  )
}

/** Why, and whether it is of the kind that passes: a stock that may not run just now, a limit that leaves more tomorrow. */
function reasonsHeldBack(
  outcome: Outcome,
  at: number,
  carriers: readonly number[],
): { why: string[]; passes: boolean } {
  const why: string[] = []
  for (const s of carriers) {
    const { settings, maxUl, blockedBy } = outcome.dosables[s]!
    if (settings.kind === 'acid' || settings.kind === 'base') continue
    if (blockedBy.length > 0) why.push(`${settings.id} may not run`)
    else if (maxUl === 0) why.push(`the limits leave nothing of ${settings.id} in this interval`)
    else if (outcome.volumeUl[s]! >= maxUl - 1) why.push(`the limits leave ${millilitres(maxUl)} mL of ${settings.id}`)
  }
  for (const { element, mgPerMl } of outcome.binding.shared) {
    if (carriers.some((s) => mgPerMl[s]! > 0))
      why.push(`the day’s cap on ${element} leaves its stocks no more of it together`)
  }
  const passes = why.length > 0
  if (outcome.binding.conductivity) why.push('conductivity is at its upper bound')
  const comesAlong = (e: number) => e !== at && carriers.some((s) => outcome.dosables[s]!.mmolPerLPerMl[e]! > 0)
  const full = [...outcome.paths.keys()].filter(
    (e) =>
      comesAlong(e) && (outcome.binding.elements.includes(e) || outcome.paths[e]!.pricedAboveMmolPerL !== undefined),
  )
  for (const e of full) {
    const { element, pricedAboveMmolPerL } = outcome.paths[e]!
    why.push(
      `${spoken(element)} comes with it and is ${pricedAboveMmolPerL === undefined ? 'at' : 'above'} its high edge`,
    )
  }
  if (why.length === 0) why.push('what else its stocks bring sets their volume; a stock of its own would help')
  return { why, passes }
}

/**
 * Iron rides with calcium, the other micronutrients with phosphate. When one of the pair is hardly dosed, whatever
 * rides only in it falls, though nothing else looks wrong.
 */
function disparity(
  outcome: Outcome,
  path: LevelPath,
  at: number,
  carriers: readonly number[],
  byHand: () => ByHand | undefined,
): PlanNote | undefined {
  const kinds = new Set(carriers.map((s) => outcome.dosables[s]!.settings.kind))
  const kind = [...kinds][0]!
  if (kinds.size !== 1 || !isPaired(kind)) return undefined
  const { element, band, presentMmolPerL } = path
  const endMmolPerL = levelAtEnd(outcome, at)
  const halfway = (band.low + band.aim) / 2
  const pairedUl = volumeOf(outcome, kind === 'calcium' ? 'phosphate-sulfate' : 'calcium')
  const ownUl = volumeOf(outcome, kind)
  if (!(endMmolPerL < halfway && endMmolPerL < presentMmolPerL && ownUl < pairedUl)) return undefined
  const stocks = listed(carriers.map((s) => outcome.dosables[s]!.settings.id))
  const text = `${spoken(element)} is about ${milligrams(element, presentMmolPerL)} mg/L, aim ${milligrams(element, band.aim)}, and falls: it rides only in ${stocks}, of which ${millilitres(ownUl)} mL are needed now against ${millilitres(pairedUl)} mL of its partner. If this lasts for days, put ${spoken(element)} into the other stock or a stock of its own.`
  return withHands(
    { kind: 'parity', element, text, figures: { presentMmolPerL, endMmolPerL, ownUl, pairedUl } },
    presentMmolPerL < band.low ? byHand() : undefined,
  )
}

function isPaired(kind: StockKind): kind is 'calcium' | 'phosphate-sulfate' {
  return kind === 'calcium' || kind === 'phosphate-sulfate'
}

function volumeOf({ dosables, volumeUl }: Outcome, kind: StockKind): number {
  return dosables.reduce((sum, { settings }, s) => sum + (settings.kind === kind ? volumeUl[s]! : 0), 0)
}
