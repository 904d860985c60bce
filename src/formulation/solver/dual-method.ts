// The one place that touches the library: 1-based arrays, arguments that it overwrites, and no limit on its rounds.

import quadprog from 'quadprog'
import { withEqualityMultipliers } from './equality-multipliers.ts'
import type { NormalForm } from './normal-form.ts'

export type DualAnswer =
  | { readonly kind: 'answered'; readonly y: Float64Array; readonly multipliers: Float64Array }
  | { readonly kind: 'inconsistent' }
  | { readonly kind: 'not-convex' }
  | { readonly kind: 'gave-up'; readonly explanation: string }

/** More rounds than this per variable and row means that it goes in circles (a choice of ours, thirty times the usual). */
const ROUNDS_PER_ROW = 30

class TooManyRounds extends Error {}

/**
 * Goldfarb & Idnani 1983, Mathematical Programming 27:1-33, as the package has it. What it says is not yet verified.
 *
 * @param loosen every right-hand side of an inequality is lowered by this much
 */
export function runDualMethod(form: NormalForm, loosen = 0): DualAnswer {
  const count = form.rows.length
  let said: ReturnType<typeof quadprog.solveQP>
  try {
    said = quadprog.solveQP(
      [[], ...form.hessian.map((line) => [0, ...line])],
      [0, ...form.linear],
      columnsFromOne(form),
      rightSides(form, loosen),
      form.equalities,
      [0, 0],
    )
  } catch (error) {
    if (error instanceof TooManyRounds) return { kind: 'gave-up', explanation: error.message }
    throw error
  }
  if (said.message.includes('inconsistent')) return { kind: 'inconsistent' }
  if (said.message.includes('not positive definite')) return { kind: 'not-convex' }
  if (said.message !== '' || said.solution === undefined || said.Lagrangian === undefined) {
    return { kind: 'gave-up', explanation: `the solver answered: ${said.message}` }
  }
  const y = Float64Array.from(said.solution.slice(1))
  const multipliers = Float64Array.from(said.Lagrangian.slice(1, count + 1))
  return {
    kind: 'answered',
    y,
    multipliers: form.equalities > 0 ? withEqualityMultipliers(form, y, multipliers) : multipliers,
  }
}

/** One line per variable, one column per row, and a last column of zeros for the round counter. */
function columnsFromOne(form: NormalForm): number[][] {
  const lines: number[][] = [[]]
  for (let j = 0; j < form.size; j++) lines.push([0, ...form.rows.map((row) => row.coefficients[j]!), 0])
  return lines
}

/**
 * The library reads every right-hand side once a round and has no limit of its own; degenerate problems can send it
 * round for ever. The last row (0 · y >= -1) never binds and counts the rounds as it is read.
 */
function rightSides(form: NormalForm, loosen: number): number[] {
  const sides = [0, ...form.rows.map((row, i) => (i < form.equalities ? row.atLeast : row.atLeast - loosen)), -1]
  const limit = ROUNDS_PER_ROW * (form.size + form.rows.length + 1)
  let rounds = 0
  Object.defineProperty(sides, sides.length - 1, {
    get: () => {
      rounds++
      if (rounds > limit) throw new TooManyRounds(`no answer after ${limit} rounds`)
      return -1
    },
  })
  return sides
}
