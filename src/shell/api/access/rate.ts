/** A token bucket for each address: short bursts pass, a flood does not. */

export interface Rate {
  /** whether one more may pass; taking it when it may */
  take(address: string): boolean
}

export interface RateOptions {
  readonly burst: number
  readonly perSecond: number
  /** milliseconds that never step */
  readonly monoMs: () => number
}

/** More addresses than a site has; the longest unseen go first. */
const ADDRESSES_MAX = 1000

export function createRate({ burst, perSecond, monoMs }: RateOptions): Rate {
  const buckets = new Map<string, { left: number; atMs: number }>()
  return {
    take(address) {
      const nowMs = monoMs()
      const before = buckets.get(address) ?? { left: burst, atMs: nowMs }
      const left = Math.min(burst, before.left + ((nowMs - before.atMs) / 1000) * perSecond)
      buckets.delete(address)
      buckets.set(address, { left: left >= 1 ? left - 1 : left, atMs: nowMs })
      if (buckets.size > ADDRESSES_MAX) buckets.delete(buckets.keys().next().value!)
      return left >= 1
    },
  }
}
