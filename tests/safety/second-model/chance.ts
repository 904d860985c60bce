/** Chance from a seed, so that every campaign can be played again. */

export interface Chance {
  /** a share, 0 up to but not 1 */
  share(): number
  /** a whole number from 0 up to but not `below` */
  below(below: number): number
  /** true this often */
  often(share: number): boolean
  pick<T>(from: readonly T[]): T
}

/** Mulberry32 (Tommy Ettinger’s public-domain generator, from memory): quick, and good enough to choose by. */
export function chanceOf(seed: number): Chance {
  let at = seed >>> 0
  const share = (): number => {
    at = (at + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(at ^ (at >>> 15), at | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
  const below = (limit: number): number => Math.floor(share() * limit)
  return {
    share,
    below,
    often: (often) => share() < often,
    pick: (from) => {
      const picked = from[below(from.length)]
      if (picked === undefined && from.length === 0) throw new Error('nothing to pick from')
      return picked as (typeof from)[number]
    },
  }
}
