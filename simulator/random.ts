// Chance from one seed. Each part of the plant draws from a stream of its own name, so that a new draw in one part
// leaves all the others as they were.

export interface RandomStream {
  /** uniform in [0, 1) */
  uniform(): number
  /** standard normal deviate */
  normal(): number
  /** uniform in [low, high) */
  between(low: number, high: number): number
}

/**
 * A stream of random numbers that depends on nothing but seed and name.
 *
 * sfc32 by C. Doty-Humphrey (PractRand, public domain; the four-line kernel from memory), seeded by an FNV-1a hash of
 * the name; normal deviates by Marsaglia's polar method.
 */
export function createRandom(seed: number, name: string): RandomStream {
  const next = sfc32(hash(name, 2166136261), hash(name, 0x9e3779b9), seed >>> 0, Math.floor(seed / 2 ** 32) >>> 0)
  const uniform = () => next() / 2 ** 32
  let spare: number | undefined
  const normal = () => {
    if (spare !== undefined) {
      const kept = spare
      spare = undefined
      return kept
    }
    for (;;) {
      const x = 2 * uniform() - 1
      const y = 2 * uniform() - 1
      const square = x * x + y * y
      if (square === 0 || square >= 1) continue
      const factor = Math.sqrt((-2 * Math.log(square)) / square)
      spare = y * factor
      return x * factor
    }
  }
  return { uniform, normal, between: (low, high) => low + (high - low) * uniform() }
}

function sfc32(a0: number, b0: number, c0: number, d0: number): () => number {
  let [a, b, c, counter] = [a0 | 0, b0 | 0, c0 | 0, (d0 | 0) + 1]
  const next = () => {
    const result = (((a + b) | 0) + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = (c << 21) | (c >>> 11)
    c = (c + result) | 0
    return result >>> 0
  }
  for (let warm = 0; warm < 16; warm += 1) next()
  return next
}

/** FNV-1a over the name's UTF-16 units. */
function hash(text: string, basis: number): number {
  let value = basis
  for (let at = 0; at < text.length; at += 1) value = Math.imul(value ^ text.charCodeAt(at), 16777619)
  return value >>> 0
}

/**
 * A slowly wandering value: an AR(1) series with stationary mean 0 and the given standard deviation.
 * `step()` moves it on by one interval and returns the new value.
 */
export function createWander(
  random: RandomStream,
  sd: number,
  correlation: number,
): { step(): number; value(): number } {
  let value = sd * random.normal()
  const kick = sd * Math.sqrt(1 - correlation * correlation)
  return {
    step() {
      value = correlation * value + kick * random.normal()
      return value
    },
    value: () => value,
  }
}
