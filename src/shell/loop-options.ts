/** What a loop stands on: its state and ledger, the edges it speaks to, and whom it tells. */

import type { LedgerFault } from '../ledger/ledger-fault.ts'
import type { Ledger } from '../ledger/port.ts'
import type { Effect } from '../reservoir/effect.ts'
import type { StartInput } from '../reservoir/input.ts'
import type { ReservoirSettings, ReservoirState } from '../reservoir/state.ts'
import type { Clock } from './clock.ts'
import type { LeaseKeeper } from './lease.ts'
import type { NodeLink } from './node-link.ts'

/**
 * A heartbeat of a node, and no disk that is well takes as long: leases are then withdrawn, and a stand-in hears. Chosen.
 */
export const HANGS_AFTER_MS = 5_000

export interface LoopOptions {
  readonly settings: ReservoirSettings
  readonly configurationHash: string
  readonly state: ReservoirState
  readonly reservoirId: string
  readonly term: number
  readonly ledger: Ledger
  readonly headSequence: number
  readonly clock: Clock
  readonly link: Pick<NodeLink, 'sendCommand'>
  /** an input in hand for longer, by the clock given, hangs; 5 s unless given */
  readonly hangsAfterMs?: number
  /** set once the loop exists, since leases ask whether the loop is healthy */
  readonly leases: () => LeaseKeeper | undefined
  readonly onEffect: (effect: Effect, atMs: number) => void
  /** the ledger can be written again: a start under a newer term. @throws LedgerFault where it cannot after all */
  readonly startAgain: () => Promise<Omit<StartInput, 'kind' | 'atMs'>>
  /** that start was kept: nodes must be heard anew */
  readonly onStartedAgain: () => void
  /** the ledger belongs to another daemon now: nothing can be done here any more */
  readonly onFenced: () => void
  readonly onFault: (fault: LedgerFault) => void
  /** an invariant is broken: pumps are stopped, the ledger was told, and the process should end */
  readonly onBroken: (error: unknown) => void
}
