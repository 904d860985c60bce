export interface Backoff {
  /** the next wait, ms: doubling, between half and the whole of it so that many clients do not come back as one */
  nextMs(): number
  reset(): void
}

/** Waits between tries, from `firstMs` doubling up to `mostMs`. */
export function createBackoff(firstMs: number, mostMs: number, random: () => number = Math.random): Backoff {
  let tries = 0
  return {
    nextMs: () => Math.min(firstMs * 2 ** Math.min(tries++, 20), mostMs) * (0.5 + 0.5 * random()),
    reset: () => {
      tries = 0
    },
  }
}
