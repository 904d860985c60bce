/** A mean and how well a handful of seeds knows it. */

export interface Interval {
  readonly mean: number
  /** ends of the 95 % interval; the mean itself where one seed alone says nothing about the spread */
  readonly low: number
  readonly high: number
}

/** Mean of independent values with Student’s 95 % interval. @param values at least one */
export function meanInterval(values: readonly number[]): Interval {
  const n = values.length
  if (n === 0) throw new Error('no value has no mean')
  const mean = values.reduce((sum, value) => sum + value, 0) / n
  if (n === 1) return { mean, low: mean, high: mean }
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1)
  const half = studentT975(n - 1) * Math.sqrt(variance / n)
  return { mean, low: mean - half, high: mean + half }
}

const NORMAL_975 = 1.959963984540054

/**
 * 97.5 % point of Student’s t, closed for 1 and 2 degrees of freedom, else by the expansion about the normal point;
 * within 0.2 % of the tables. Abramowitz & Stegun 26.7.5 (number from memory).
 */
function studentT975(freedom: number): number {
  if (freedom === 1) return Math.tan(0.475 * Math.PI)
  if (freedom === 2) return 0.95 * Math.sqrt(2 / (1 - 0.95 ** 2))
  const x = NORMAL_975
  const n = freedom
  return (
    x +
    (x ** 3 + x) / (4 * n) +
    (5 * x ** 5 + 16 * x ** 3 + 3 * x) / (96 * n ** 2) +
    (3 * x ** 7 + 19 * x ** 5 + 17 * x ** 3 - 15 * x) / (384 * n ** 3) +
    (79 * x ** 9 + 776 * x ** 7 + 1482 * x ** 5 - 1920 * x ** 3 - 945 * x) / (92160 * n ** 4)
  )
}
