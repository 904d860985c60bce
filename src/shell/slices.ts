/** Long work in slices, so that whoever else needs the thread is never kept waiting for it. */

export interface Slices {
  /** waits for the others’ turn once a slice is used up */
  next(): Promise<void>
}

/** A heartbeat, a report and a person’s hold wait for less than twice this: a slice, and the step that was in hand. */
const SLICE_MS = 10

/** @param monoMs a clock that never steps */
export function createSlices(monoMs: () => number): Slices {
  let beganMs = monoMs()
  return {
    async next() {
      if (monoMs() - beganMs < SLICE_MS) return
      await new Promise((done) => setImmediate(done))
      beganMs = monoMs()
    },
  }
}
