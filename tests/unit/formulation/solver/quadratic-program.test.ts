import fc from 'fast-check'
import { beforeAll, describe, expect, it } from 'vitest'
import { type QuadraticProgram, solveQuadraticProgram } from '../../../../src/formulation/solver/quadratic-program.ts'
import { loadOracle, type Oracle, objectiveOf } from './highs-oracle.ts'

const solved = (program: QuadraticProgram) => {
  const answer = solveQuadraticProgram(program)
  if (answer.kind !== 'solved') throw new Error(`${answer.kind}: ${answer.explanation}`)
  return answer
}

describe('a small program worked by hand', () => {
  // Minimise (x-2)²/2 + (y-3)²/2 on x + y <= 3: the foot of the perpendicular is (1, 2), multiplier 1, cost 1 - 6.5.
  const program: QuadraticProgram = {
    hessian: [
      [1, 0],
      [0, 1],
    ],
    linear: [2, 3],
    rows: [[-1, -1]],
    atLeast: [-3],
    equalities: 0,
  }

  it('finds the nearest point of a half plane, its cost and what loosening would be worth', () => {
    const answer = solved(program)
    expect([...answer.x]).toEqual([expect.closeTo(1, 8), expect.closeTo(2, 8)])
    expect(answer.objective).toBeCloseTo(-5.5, 8)
    expect(answer.active).toEqual([0])
    expect(answer.multipliers[0]).toBeCloseTo(1, 6)
  })

  it('leaves a row that does not bind out of the active ones', () => {
    const answer = solved({ ...program, atLeast: [-6] })
    expect([...answer.x]).toEqual([expect.closeTo(2, 8), expect.closeTo(3, 8)])
    expect(answer.active).toEqual([])
    expect(answer.multipliers[0]).toBe(0)
  })

  it('keeps an equality from either side, with the sign of its multiplier', () => {
    const below = solved({ ...program, rows: [[1, 1]], atLeast: [3], equalities: 1 })
    const above = solved({ ...program, rows: [[1, 1]], atLeast: [7], equalities: 1 })
    expect(below.multipliers[0]).toBeCloseTo(-1, 6)
    expect(above.multipliers[0]).toBeCloseTo(1, 6)
    expect([...above.x]).toEqual([expect.closeTo(3, 8), expect.closeTo(4, 8)])
  })

  it('keeps bounds exactly, never by a hair outside', () => {
    const answer = solved({ ...program, rows: [], atLeast: [], lower: [0, 0], upper: [0.1, 10] })
    expect(answer.x[0]).toBe(0.1)
    expect(answer.upperMultipliers[0]).toBeCloseTo(1.9, 6)
    expect(answer.lowerMultipliers[0]).toBe(0)
  })

  it('gives the same answer when the variables are counted in other units', () => {
    const answer = solved({
      hessian: [
        [1e-12, 0],
        [0, 1e8],
      ],
      linear: [2e-6, 3e4],
      rows: [[-1e-6, -1e4]],
      atLeast: [-3],
      equalities: 0,
    })
    expect(answer.x[0]! / 1e6).toBeCloseTo(1, 7)
    expect(answer.x[1]! * 1e4).toBeCloseTo(2, 7)
  })
})

describe('programs without an answer', () => {
  const flat = {
    hessian: [
      [1, 0],
      [0, 0],
    ],
    linear: [1, 1],
    rows: [],
    atLeast: [],
    equalities: 0,
  }

  it('says which rows contradict, where the library still returns numbers', () => {
    const answer = solveQuadraticProgram({
      hessian: [[1]],
      linear: [1],
      rows: [[1], [-1], [1]],
      atLeast: [5, -1, -100],
      equalities: 0,
    })
    expect(answer).toEqual({ kind: 'infeasible', explanation: 'row 0, row 1 cannot hold together with the rest' })
  })

  it('names a bound above its own counterpart, and an empty row that should reach something', () => {
    const base = { hessian: [[1]], linear: [1], equalities: 0 }
    const crossed = solveQuadraticProgram({ ...base, rows: [], atLeast: [], lower: [2], upper: [1] })
    expect(crossed).toEqual({ kind: 'infeasible', explanation: 'variable 0 must be at least 2 and at most 1' })
    const empty = solveQuadraticProgram({ ...base, rows: [[0]], atLeast: [1] })
    expect(empty).toEqual({ kind: 'infeasible', explanation: 'row 0 holds no variable, yet it must reach 1' })
  })

  it('calls a cost that falls without end degenerate', () => {
    expect(solveQuadraticProgram(flat)).toEqual({
      kind: 'degenerate',
      explanation: 'the cost falls without end along variables 1',
    })
  })

  it('takes the same cost once a bound stops it', () => {
    const answer = solved({ ...flat, upper: [Infinity, 7] })
    expect([...answer.x]).toEqual([expect.closeTo(1, 7), 7])
  })

  it('calls a cost that is not convex degenerate', () => {
    const saddle = { hessian: [[-1]], linear: [0], rows: [], atLeast: [], equalities: 0, lower: [-1], upper: [1] }
    expect(solveQuadraticProgram(saddle).kind).toBe('degenerate')
  })

  it.each([
    ['a hessian of the wrong size', { hessian: [[1, 0]], linear: [1], rows: [], atLeast: [], equalities: 0 }],
    ['a number that is none', { hessian: [[1]], linear: [Number.NaN], rows: [], atLeast: [], equalities: 0 }],
    ['more right-hand sides than rows', { hessian: [[1]], linear: [1], rows: [], atLeast: [1], equalities: 0 }],
    [
      'a bound that is none',
      { hessian: [[1]], linear: [1], rows: [], atLeast: [], equalities: 0, lower: [Number.NaN] },
    ],
    [
      'a lower bound of infinity',
      { hessian: [[1]], linear: [1], rows: [], atLeast: [], equalities: 0, lower: [Infinity] },
    ],
  ])('throws for %s', (_, program) => {
    expect(() => solveQuadraticProgram(program)).toThrow(/quadratic program/)
  })
})

describe('degenerate and singular programs', () => {
  it('splits evenly between two stocks that are the same', () => {
    const same = {
      hessian: [
        [2, 2],
        [2, 2],
      ],
      linear: [4, 4],
      rows: [],
      atLeast: [],
      equalities: 0,
      lower: [0, 0],
    }
    const answer = solved(same)
    expect(answer.x[0]).toBeCloseTo(1, 6)
    expect(answer.x[1]).toBeCloseTo(1, 6)
  })

  it('answers where the same row is given many times over and differs in the last digit', () => {
    const rows = Array.from({ length: 12 }, (_, i) => [-1 - i * 2 ** -52, -1, -1 / 3])
    const answer = solved({
      hessian: [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ],
      linear: [5, 5, 5],
      rows,
      atLeast: rows.map((_, i) => -1 - i * 2 ** -52),
      equalities: 0,
      lower: [0, 0, 0],
    })
    expect(answer.x[0]! + answer.x[1]! + answer.x[2]! / 3).toBeCloseTo(1, 7)
  })

  it('answers at a corner where more rows meet than there are variables', () => {
    const rows = Array.from({ length: 20 }, (_, i) => [-Math.cos(i / 20), -Math.sin(i / 20)])
    const answer = solved({
      hessian: [
        [1, 0],
        [0, 1],
      ],
      linear: [3, 1],
      rows,
      atLeast: rows.map(() => 0),
      equalities: 0,
    })
    expect(Math.hypot(...answer.x)).toBeLessThan(3)
    for (const row of rows) expect(row[0]! * answer.x[0]! + row[1]! * answer.x[1]!).toBeGreaterThan(-1e-6)
  })

  it('answers nothing where a cap leaves nothing, though cap and bounds say the same in 300 random ways', () => {
    for (let seed = 1; seed <= 300; seed++) {
      const program = randomProgram(seed)
      const cap = Float64Array.from(program.linear, (_, j) => -0.1 - ((seed * (j + 3)) % 7))
      const answer = solved({ ...program, rows: [...program.rows, cap], atLeast: [...Array.from(program.atLeast), 0] })
      expect(Math.max(...answer.x), `seed ${seed}`).toBeLessThan(1e-7)
    }
  })

  it('keeps rows that repeat an equality', () => {
    const answer = solved({
      hessian: [
        [1, 0],
        [0, 1],
      ],
      linear: [0, 0],
      rows: [
        [1, 1],
        [1, 1],
        [-1, -1],
      ],
      atLeast: [2, 2, -2],
      equalities: 1,
    })
    expect([...answer.x]).toEqual([expect.closeTo(1, 6), expect.closeTo(1, 6)])
  })
})

describe('against a second solver', () => {
  let oracle: Oracle
  beforeAll(async () => {
    oracle = await loadOracle()
  })

  it('agrees on the cost of 500 random programs to a millionth', () => {
    for (let seed = 1; seed <= 500; seed++) {
      const program = randomProgram(seed)
      const answer = solved(program)
      const theirs = oracle.solve(program)
      expect(theirs.status, `seed ${seed}`).toBe('Optimal')
      const size = Math.max(1, Math.abs(theirs.objective))
      expect(Math.abs(answer.objective - theirs.objective) / size, `seed ${seed}`).toBeLessThan(1e-6)
      expect(objectiveOf(program, answer.x)).toBeCloseTo(answer.objective, 9)
    }
  })

  it('agrees on which of 200 random sets of rows contradict', () => {
    let contradictory = 0
    for (let seed = 1; seed <= 200; seed++) {
      const program = randomRows(seed)
      const ours = solveQuadraticProgram(program).kind
      const theirs = oracle.solve(program).status
      expect(ours, `seed ${seed}: ${theirs}`).toBe(theirs === 'Infeasible' ? 'infeasible' : 'solved')
      if (ours === 'infeasible') contradictory++
    }
    expect(contradictory).toBeGreaterThan(40)
    expect(contradictory).toBeLessThan(160)
  })
})

describe('any program with the origin inside', () => {
  it('is solved, keeps its rows, and costs no more than doing nothing', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1000, max: 1_000_000 }), (seed) => {
        const program = randomProgram(seed)
        const answer = solved(program)
        expect(answer.objective).toBeLessThanOrEqual(1e-9)
        for (const [i, row] of program.rows.entries()) {
          const reached = Array.from(row).reduce((sum, value, j) => sum + value * answer.x[j]!, 0)
          const size = Math.hypot(...Array.from(row)) * Math.max(1, ...answer.x)
          expect(reached - program.atLeast[i]!).toBeGreaterThan(-1e-6 * size)
        }
      }),
      { numRuns: 100, seed: 20260301 },
    )
  })
})

/** mulberry32, a public-domain generator. */
function generator(seed: number): () => number {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

/** Shaped like a dose program: least squares over 14 elements, bounds, a few caps; the origin is always allowed. */
function randomProgram(seed: number): QuadraticProgram {
  const random = generator(seed)
  const size = 1 + Math.floor(random() * 12)
  const elements = Math.max(size, 14)
  const brings = Array.from({ length: elements }, () =>
    Array.from({ length: size }, () => (random() < 0.4 ? random() : 0)),
  )
  const wanted = brings.map(() => random() * 3 - 0.5)
  const weight = brings.map(() => 10 ** (random() * 3 - 1.5))
  const hessian = Array.from({ length: size }, (_, i) =>
    Array.from({ length: size }, (_, j) =>
      brings.reduce((sum, row, e) => sum + weight[e]! * row[i]! * row[j]!, i === j ? 1e-3 : 0),
    ),
  )
  const linear = Array.from({ length: size }, (_, i) =>
    brings.reduce((sum, row, e) => sum + weight[e]! * row[i]! * wanted[e]!, 0),
  )
  const caps = Array.from({ length: Math.floor(random() * 4) }, () => Array.from({ length: size }, () => -random()))
  return {
    hessian,
    linear,
    rows: caps,
    atLeast: caps.map(() => -random() * 2),
    equalities: 0,
    lower: new Array(size).fill(0),
    upper: Array.from({ length: size }, () => (random() < 0.3 ? Infinity : random() * 3)),
  }
}

/** Rows drawn without care for one another: about half the sets contradict. */
function randomRows(seed: number): QuadraticProgram {
  const random = generator(seed + 7_000_000)
  const size = 2 + Math.floor(random() * 3)
  const rows = Array.from({ length: size + 3 }, () => Array.from({ length: size }, () => random() * 2 - 1))
  return {
    hessian: Array.from({ length: size }, (_, i) => Array.from({ length: size }, (_, j) => (i === j ? 1 + i : 0))),
    linear: Array.from({ length: size }, () => random() - 0.5),
    rows,
    atLeast: rows.map(() => random() * 2 - 1.1),
    equalities: seed % 3 === 0 ? 1 : 0,
  }
}
