/** A seeded source of chance. Streams of the same seed and different names are independent of each other. */
export interface Chance {
  /** evenly between two bounds */
  between(low: number, high: number): number
  /** a deviate of the normal distribution */
  normal(sd: number): number
  /** a factor off 1 by at least `least` and at most `most`, to either side */
  factor(least: number, most: number): number
}

/** Opens the stream `name` of a seed. A 32-bit Weyl sequence through a multiply-and-shift hash; good enough for a bench. */
export function openChance(seed: number, name: string): Chance {
  let state = seed >>> 0
  for (const letter of name) state = scramble(state ^ letter.charCodeAt(0))
  const unit = () => {
    state = (state + 0x9e3779b9) >>> 0
    return (scramble(state) + 0.5) / 2 ** 32
  }
  const between = (low: number, high: number) => low + (high - low) * unit()
  return {
    between,
    normal: (sd) => sd * Math.sqrt(-2 * Math.log(unit())) * Math.cos(2 * Math.PI * unit()),
    factor: (least, most) => 1 + (unit() < 0.5 ? -1 : 1) * between(least, most),
  }
}

function scramble(word: number): number {
  let mixed = Math.imul(word ^ (word >>> 16), 0x85ebca6b)
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35)
  return (mixed ^ (mixed >>> 16)) >>> 0
}
