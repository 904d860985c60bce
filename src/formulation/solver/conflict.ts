// Whether rows really contradict each other. The library calls rows inconsistent too readily: two rows that say the
// same and differ in the last digit are enough. So its word is checked by asking for the least total violation.

import { runDualMethod } from './dual-method.ts'
import type { NormalForm, NormalRow } from './normal-form.ts'
import { dot, OPTIMALITY_TOLERANCE } from './optimality.ts'

export type Conflict =
  | { readonly kind: 'conflict'; readonly explanation: string }
  | { readonly kind: 'no-conflict' }
  | { readonly kind: 'unknown'; readonly explanation: string }

/** Every row may be missed at a price, bounds may not; whatever must still be missed is the conflict. */
export function findConflict(form: NormalForm): Conflict {
  const answer = runDualMethod(elasticForm(form))
  if (answer.kind !== 'answered') return { kind: 'unknown', explanation: `least violation not found: ${answer.kind}` }
  const y = answer.y.subarray(0, form.size)
  const missed = form.rows.filter((row, i) => {
    const slack = dot(row.coefficients, y) - row.atLeast
    const miss = i < form.equalities ? Math.abs(slack) : -slack
    return !(miss <= OPTIMALITY_TOLERANCE * 10 * (1 + Math.abs(row.atLeast)))
  })
  if (missed.length === 0) return { kind: 'no-conflict' }
  const names = missed.map((row) => (row.from === 'row' ? `row ${row.index}` : `the ${row.from} bound of ${row.index}`))
  return { kind: 'conflict', explanation: `${names.join(', ')} cannot hold together with the rest` }
}

/** One more variable per row: by how much it is missed. */
function elasticForm(form: NormalForm): NormalForm {
  const misses = form.rows.filter((row) => row.from === 'row').length
  const size = form.size + misses
  const hessian = Array.from({ length: size }, (_, i) => {
    const line = new Float64Array(size)
    line[i] = i < form.size ? 1e-8 : 1
    return line
  })
  let next = form.size
  const rows: NormalRow[] = form.rows.map((row) => {
    const coefficients = new Float64Array(size)
    coefficients.set(row.coefficients)
    if (row.from === 'row') coefficients[next++] = 1
    return { ...row, coefficients }
  })
  const scale = new Float64Array(size).fill(1)
  return { size, hessian, linear: new Float64Array(size), rows, equalities: form.equalities, ridge: 0, scale }
}
