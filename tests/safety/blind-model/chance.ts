/** Chance from a seed, so that every difference can be played again. */

/** Xorshift of 32 bits (Marsaglia, Journal of Statistical Software 8/14, 2003), its seed well stirred. */
export class Chance {
  private at: number

  constructor(seed: number) {
    this.at = Math.imul(seed + 1, 0x9e3779b1) | 0
    if (this.at === 0) this.at = 1
    for (let stir = 0; stir < 8; stir += 1) this.share()
  }

  /** a share, 0 up to but not 1 */
  share(): number {
    this.at ^= this.at << 13
    this.at ^= this.at >>> 17
    this.at ^= this.at << 5
    return (this.at >>> 0) / 4_294_967_296
  }

  often(share: number): boolean {
    return this.share() < share
  }

  /** a whole number from the least to the most, both among them */
  whole(least: number, most: number): number {
    return least + Math.floor(this.share() * (most - least + 1))
  }

  pick<T>(from: readonly T[]): T {
    if (from.length === 0) throw new Error('nothing to pick from')
    return from[this.whole(0, from.length - 1)]!
  }

  /** one or the other kind of thing, by weight */
  weighed<T>(from: readonly (readonly [number, T])[]): T {
    let left = this.share() * from.reduce((sum, [weight]) => sum + weight, 0)
    for (const [weight, thing] of from) {
      left -= weight
      if (left < 0) return thing
    }
    return from.at(-1)![1]
  }
}
