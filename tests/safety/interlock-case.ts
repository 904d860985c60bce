import type { Limits } from '../../src/safety/limits.ts'
import type { Bench } from './bench.ts'

export interface InterlockCase {
  readonly interlock: string
  readonly tells: string
  readonly arrange: (bench: Bench) => void
  readonly limits?: Limits
  readonly stock?: string
  readonly volumeUl?: number
  /** does this interlock hold? */
  readonly holds: boolean
}

export type Rest = Partial<Omit<InterlockCase, 'interlock' | 'tells' | 'holds'>>

/** A case just inside the edge. */
export function holds(interlock: string, tells: string, rest: Rest = {}): InterlockCase {
  return { interlock, tells, holds: true, arrange: () => {}, ...rest }
}

/** A case just outside it. */
export function refuses(interlock: string, tells: string, rest: Rest = {}): InterlockCase {
  return { interlock, tells, holds: false, arrange: () => {}, ...rest }
}
