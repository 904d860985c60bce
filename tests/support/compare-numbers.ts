import { expect } from 'vitest'

/** The same names, and each figure within a share of what was expected. */
export function compareNumbers(
  read: Readonly<Record<string, number>>,
  expected: Readonly<Record<string, number>>,
  tolerance: number,
): void {
  expect(Object.keys(read).sort()).toEqual(Object.keys(expected).sort())
  for (const [name, value] of Object.entries(expected)) {
    expect(Math.abs(read[name]! / value - 1), `${name}: ${read[name]}, not ${value}`).toBeLessThan(tolerance)
  }
}

/** Those that are there. */
export function defined(numbers: Readonly<Record<string, number | undefined>>): Record<string, number> {
  return Object.fromEntries(
    Object.entries(numbers).filter((entry): entry is [string, number] => entry[1] !== undefined),
  )
}
