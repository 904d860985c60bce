/** The day of a moment as the site counts days, in words that still hold when they are read weeks later. */

const DAY_MS = 86_400_000
/** Years that begin in March end with their leap day: 0000-03-01 lies so many days before the epoch. */
const MARCH_OF_YEAR_0 = 719_468
const DAYS_IN_400_YEARS = 146_097

/**
 * `2026-03-17`.
 *
 * @param atMs epoch milliseconds UTC
 *
 * The proleptic Gregorian calendar by whole-number arithmetic: Hinnant, Low-Level Date Algorithms (2013), from memory.
 */
export function siteDay(atMs: number, utcOffsetMin: number): string {
  const sinceMarch = Math.floor((atMs + utcOffsetMin * 60_000) / DAY_MS) + MARCH_OF_YEAR_0
  const era = Math.floor(sinceMarch / DAYS_IN_400_YEARS)
  const dayOfEra = sinceMarch - era * DAYS_IN_400_YEARS
  const leapDays = Math.floor(dayOfEra / 1460) - Math.floor(dayOfEra / 36_524) + Math.floor(dayOfEra / 146_096)
  const yearOfEra = Math.floor((dayOfEra - leapDays) / 365)
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100))
  const monthFromMarch = Math.floor((5 * dayOfYear + 2) / 153)
  const day = dayOfYear - Math.floor((153 * monthFromMarch + 2) / 5) + 1
  const month = monthFromMarch < 10 ? monthFromMarch + 3 : monthFromMarch - 9
  const year = yearOfEra + era * 400 + (month <= 2 ? 1 : 0)
  const two = (value: number) => String(value).padStart(2, '0')
  return `${year}-${two(month)}-${two(day)}`
}
