/** How a figure is taken, and how it is told. */

export interface Figure {
  readonly name: string
  readonly value: number
  readonly unit: string
  /** the figure should be at most this; absent where it only stands beside another */
  readonly goal?: number
  /** how it was taken */
  readonly note: string
}

/** The value below which a share of the samples lies; nearest rank. */
export function quantile(samples: readonly number[], share: number): number {
  const sorted = samples.toSorted((a, b) => a - b)
  const value = sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)]
  if (value === undefined) throw new Error('no sample was taken')
  return value
}

export function median(samples: readonly number[]): number {
  return quantile(samples, 0.5)
}

/** Milliseconds of each of `runs` calls, after a quarter as many that are not counted. */
export function timesMs(runs: number, call: () => void): readonly number[] {
  for (let warm = 0; warm < Math.max(2, runs / 4); warm++) call()
  return Array.from({ length: runs }, () => {
    const beganMs = performance.now()
    call()
    return performance.now() - beganMs
  })
}

/** One line a figure, goals beside them. */
export function tableOf(figures: readonly Figure[]): string {
  const width = Math.max(...figures.map(({ name }) => name.length))
  const rows = figures.map(({ name, value, unit, goal, note }) => {
    const goalText = goal === undefined ? '' : `${value <= goal ? 'within' : 'OVER  '} ${shown(goal)} ${unit}`
    return `${name.padEnd(width)}  ${`${shown(value)} ${unit}`.padStart(11)}  ${goalText.padEnd(16)}  ${note}`
  })
  return `${rows.join('\n')}\n`
}

function shown(value: number): string {
  return value >= 100 ? value.toFixed(0) : value >= 10 ? value.toFixed(1) : value.toFixed(2)
}
