/** A sparse linear map x → (I + E)x, applied to a covariance without building a matrix. */

/** Entries of E, filled anew each step; the arrays are scratch and belong to whoever fills them. */
export interface SparseChange {
  count: number
  readonly rows: Int32Array
  readonly columns: Int32Array
  readonly values: Float64Array
}

/** A map with E = 0 and room for so many entries. */
export function emptyChange(capacity: number): SparseChange {
  return {
    count: 0,
    rows: new Int32Array(capacity),
    columns: new Int32Array(capacity),
    values: new Float64Array(capacity),
  }
}

/** Adds an entry of E while the map is being built; 0 takes no room. @throws where there is no room left */
export function putEntry(change: SparseChange, row: number, column: number, value: number): void {
  if (value === 0) return
  const at = change.count
  if (at >= change.rows.length) throw new Error('sparse change is full; give it more room')
  change.rows[at] = row
  change.columns[at] = column
  change.values[at] = value
  change.count = at + 1
}

/**
 * (I + E) P (I + E)ᵀ as a fresh array.
 *
 * @param covariance n × n, symmetric, row by row; not written
 * @returns n × n, symmetric to the last bit
 */
export function propagate(covariance: Float64Array, n: number, change: SparseChange): Float64Array {
  const left = covariance.slice()
  for (let entry = 0; entry < change.count; entry++) {
    const to = change.rows[entry]! * n
    const from = change.columns[entry]! * n
    const value = change.values[entry]!
    for (let column = 0; column < n; column++) left[to + column]! += value * covariance[from + column]!
  }
  const both = left.slice()
  for (let entry = 0; entry < change.count; entry++) {
    const to = change.rows[entry]!
    const from = change.columns[entry]!
    const value = change.values[entry]!
    for (let row = 0, offset = 0; row < n; row++, offset += n) both[offset + to]! += value * left[offset + from]!
  }
  mirror(both, n)
  return both
}

/** Makes the matrix symmetric by its mean with its transpose, in place. */
function mirror(matrix: Float64Array, n: number): void {
  for (let row = 0; row < n; row++) {
    for (let column = row + 1; column < n; column++) {
      const mean = 0.5 * (matrix[row * n + column]! + matrix[column * n + row]!)
      matrix[row * n + column] = mean
      matrix[column * n + row] = mean
    }
  }
}
