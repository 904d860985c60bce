// Root of a function that changes sign in a bracket.

/**
 * Where f is zero between two ends of different sign, to within `tolerance` of x.
 *
 * It cannot leave [low, high]: inverse quadratic interpolation where that is safe, halving elsewhere.
 * Chandrupatla 1997, Advances in Engineering Software 28:145 (from memory).
 *
 * @throws when the ends have the same sign or f is not a number there
 */
export function rootBetween(f: (x: number) => number, low: number, high: number, tolerance: number): number {
  let [a, fa, b, fb] = [high, f(high), low, f(low)]
  if (fa === 0) return a
  if (fb === 0) return b
  if (!(fa * fb < 0)) throw new Error(`no change of sign between ${low} and ${high}`)
  let share = 0.5
  for (let round = 0; round < 200; round++) {
    const x = a + share * (b - a)
    const fx = f(x)
    let [c, fc] = [a, fa]
    if (fx > 0 !== fa > 0) [c, fc, b, fb] = [b, fb, a, fa]
    ;[a, fa] = [x, fx]
    const edge = tolerance / Math.abs(b - a)
    if (fa === 0 || !(edge < 0.5)) break
    share = Math.min(1 - edge, Math.max(edge, interpolated(a, fa, b, fb, c, fc)))
  }
  return Math.abs(fa) <= Math.abs(fb) ? a : b
}

/** Share of the way from a to b at which the inverse parabola through three points is zero; half where it bends. */
function interpolated(a: number, fa: number, b: number, fb: number, c: number, fc: number): number {
  const xi = (a - b) / (c - b)
  const phi = (fa - fb) / (fc - fb)
  if (!(phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi)) return 0.5
  return (fa / (fb - fa)) * (fc / (fb - fc)) + ((c - a) / (b - a)) * (fa / (fc - fa)) * (fb / (fc - fb))
}
