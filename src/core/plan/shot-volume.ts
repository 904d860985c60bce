// A dose in whole microlitres that pumps can run: shots between the smallest and the largest permitted.

import type { Dosable } from './dosable.ts'

export interface ShotVolumes {
  /** each between the stock’s smallest and largest shot; empty when the dose is too small */
  readonly shotsUl: readonly number[]
  /** what remains for a later plan */
  readonly leftUl: number
}

/** Splits a dose into equal shots, as few as may be. Rounds down: a ceiling that held before holds after. */
export function toShots(volumeUl: number, dosable: Dosable): ShotVolumes {
  const smallest = dosable.shotMinUl
  const largest = Math.floor(dosable.headroom.shotMaxUl)
  const whole = Math.floor(volumeUl)
  if (!(whole >= smallest && largest >= smallest)) return { shotsUl: [], leftUl: Math.max(0, whole) }
  const count = Math.ceil(whole / largest)
  if (whole >= count * smallest) return { shotsUl: equalShots(whole, count), leftUl: 0 }
  // So many shots would each be too small; one fewer, as large as permitted, and the rest is left.
  const given = (count - 1) * largest
  return { shotsUl: equalShots(given, count - 1), leftUl: whole - given }
}

function equalShots(volumeUl: number, count: number): number[] {
  const each = Math.floor(volumeUl / count)
  const over = volumeUl - each * count
  return Array.from({ length: count }, (_, at) => (at < over ? each + 1 : each))
}
