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

/** Filled before it is read, each time. */
let left = new Float64Array(0)

/**
 * (I + E) P (I + E)ᵀ as a fresh array.
 *
 * @param covariance n × n, symmetric, row by row; not written
 * @returns n × n, symmetric to the last bit
 */
export function propagate(covariance: Float64Array, n: number, change: SparseChange): Float64Array {
  if (left.length !== n * n) left = new Float64Array(n * n)
  left.set(covariance)
  const { rows, columns, values } = change
  for (let entry = 0; entry < change.count; entry++) {
    const to = rows[entry]! * n
    const from = columns[entry]! * n
    const value = values[entry]!
    for (let column = 0; column < n; column++) left[to + column]! += value * covariance[from + column]!
  }
  // Row by row, so that what a row needs stays near: the same sums in the same order as column by column.
  const both = left.slice()
  for (let offset = 0; offset < n * n; offset += n) {
    for (let entry = 0; entry < change.count; entry++)
      both[offset + rows[entry]!]! += values[entry]! * left[offset + columns[entry]!]!
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
