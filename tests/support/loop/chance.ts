/** Numbers that look random and are the same every time (mulberry32, public domain). */
export function chance(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }
}

/** Roughly normal: twelve uniform numbers less six. */
export function normal(random: () => number): number {
  let sum = -6
  for (let at = 0; at < 12; at++) sum += random()
  return sum
}
