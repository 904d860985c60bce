// Notes about the plan itself: what may not run, what conductivity held back, what was too small or found no time.

import type { Dosable } from './dosable.ts'
import type { LeftVolume, PlanNote } from './plan.ts'
import type { PlanInput } from './plan-input.ts'
import type { Outcome } from './shortage.ts'
import { figure, listed, millilitres } from './wording.ts'

/** One note per cause, however many stocks it stops. */
export function noteBlocks(dosables: readonly Dosable[]): PlanNote[] {
  const stocksByCause = new Map<string, string[]>()
  for (const { settings, blockedBy } of dosables) {
    if (blockedBy.length === 0) continue
    const cause = blockedBy.join(', ')
    stocksByCause.set(cause, [...(stocksByCause.get(cause) ?? []), settings.id])
  }
  return [...stocksByCause].map(([cause, stocks]) => {
    const one = stocks.length === 1 ? { stock: stocks[0]! } : {}
    return { kind: 'blocked', ...one, text: `Nothing is planned of ${listed(stocks)}: ${cause}.`, figures: {} }
  })
}

/** Said when the bound on conductivity decided the volumes. */
export function noteConductivity(input: PlanInput, outcome: Outcome): PlanNote[] {
  if (!outcome.binding.conductivity) return []
  const { conductivityDsPerM } = input.estimate
  const { conductivityMaxDsPerM } = input.settings.planning
  const text = `Conductivity is about ${figure(conductivityDsPerM)} mS/cm and may not be dosed beyond ${figure(conductivityMaxDsPerM)}: doses are held back. Elements above their bands take the room; renewing part of the solution makes some.`
  return [{ kind: 'conductivity', text, figures: { conductivityDsPerM, conductivityMaxDsPerM } }]
}

/** Volumes in µL, by stock, that the waits of the interval left no time for. */
export function noteDropped(dropped: ReadonlyMap<string, number>): PlanNote[] {
  return [...dropped].map(([stock, volumeUl]) => {
    const text = `${millilitres(volumeUl)} mL of ${stock} find no time in this interval with all waits kept; the next plan makes up for it.`
    return { kind: 'no-time', stock, text, figures: { volumeUl } }
  })
}

/** One note of all that was too small for a shot; none where nothing was. */
export function noteLeft(left: readonly LeftVolume[], dosables: readonly Dosable[]): PlanNote[] {
  if (left.length === 0) return []
  const parts = left.map(({ stock, volumeUl }) => {
    const smallest = dosables.find(({ settings }) => settings.id === stock)!.settings.shotMinUl
    return `${millilitres(volumeUl)} mL of ${stock} (smallest shot ${millilitres(smallest)})`
  })
  return [{ kind: 'left', text: `Left for the next plan: ${listed(parts)}.`, figures: {} }]
}
