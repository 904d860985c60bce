// The package has no types of its own. Every array is 1-based: index 0 is never read.

declare module 'quadprog' {
  interface QuadprogResult {
    /** empty when all went well; on trouble the numbers are still filled in and mean nothing */
    readonly message: string
    readonly solution?: number[]
    readonly Lagrangian?: number[]
  }

  /** Minimises 1/2 x'Dx - d'x subject to A'x >= b, the first `meq` rows equal. Writes into all its arguments. */
  function solveQP(
    dmat: number[][],
    dvec: number[],
    amat: number[][],
    bvec: number[],
    meq: number,
    factorized: number[],
  ): QuadprogResult

  const quadprog: { solveQP: typeof solveQP }
  export default quadprog
}
