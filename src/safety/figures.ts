import { acidDayMaxUl, acidHourMaxUl, acidRateMaxUl } from './acid-allowance.ts'
import { acidShotMaxUl, baseShotMaxUl } from './acid-shot.ts'
import type { Facts } from './facts.ts'
import type { Limits } from './limits.ts'
import type { ShotWish } from './types.ts'

export type Figures = Readonly<Record<string, number | string | boolean | null>>

/** Every figure a verdict was judged on, flat, as it goes on record; what is no finite number is null. */
export function figuresOf(wish: ShotWish, runMs: number, facts: Facts, limits: Limits): Figures {
  const { probes, caps, apart, trips, missingSensors, elements, lost, rationCovers, ...rest } = facts
  const { waitForRoomMs: _room, waitForAcidMs: _acid, calibration, ...plain } = rest
  const figures: Record<string, number | string | boolean | null> = {
    ...plain,
    ...caps,
    volumeUl: wish.volumeUl,
    planId: wish.planId,
    runMs,
    trips: trips.join(' '),
    missingSensors: missingSensors.join(' '),
    lost: lost.map(({ id }) => id).join(' '),
    rationCovers: rationCovers.join(' '),
    purpose: wish.purpose ?? null,
    ...(wish.purpose === 'calibration' ? { ...calibration, withWater: wish.withWater ?? null } : {}),
    startWindowMs: limits.startWindowMs,
    mixingMs: limits.mixingMs,
    acidShotMaxUl: facts.isAcid ? acidShotMaxUl(facts, limits) : null,
    acidHourMaxUl: facts.isAcid ? acidHourMaxUl(facts, limits) : null,
    acidDayMaxUl: facts.isAcid ? acidDayMaxUl(facts, limits) : null,
    acidRateMaxUl: facts.isAcid ? acidRateMaxUl(facts, limits) : null,
    baseShotMaxUl: facts.isBase ? baseShotMaxUl(facts, limits) : null,
  }
  for (const probe of probes) {
    figures[`${probe.id}.value`] = probe.value
    figures[`${probe.id}.quality`] = probe.quality
    figures[`${probe.id}.ageMs`] = probe.ageMs
    figures[`${probe.id}.sameForMs`] = probe.sameForMs
  }
  for (const { element, dayNg, dayMaxNg, ngPerUl } of elements) {
    figures[`${element}.dayNg`] = dayNg
    figures[`${element}.dayMaxNg`] = dayMaxNg
    figures[`${element}.ngPerUl`] = ngPerUl
  }
  for (const other of apart) figures[`${other.from}.sinceMs`] = other.sinceMs
  for (const name of Object.keys(figures)) if (!isTold(figures[name])) figures[name] = null
  return figures
}

function isTold(value: number | string | boolean | null | undefined): boolean {
  return typeof value === 'number' ? Number.isFinite(value) : value !== undefined
}
