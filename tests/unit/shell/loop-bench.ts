/** A loop on a ledger in memory, with all that the world hears of it in order. */

import type { LedgerFault } from '../../../src/ledger/ledger-fault.ts'
import type { Effect } from '../../../src/reservoir/effect.ts'
import type { ReservoirState } from '../../../src/reservoir/state.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import { Loop } from '../../../src/shell/loop.ts'
import type { UnstampedInput } from '../../../src/shell/loop-input.ts'
import type { LoopOptions } from '../../../src/shell/loop-options.ts'
import { MemoryLedger } from './memory-ledger.ts'
import type { Moment } from './moment.ts'

export const HASH = 'of this configuration'
export const SITE = 'quarry-lane'
export const HOLD = {
  kind: 'instruction',
  by: 'Ines',
  reason: 'smell of acid',
  instruction: { instruction: 'hold' },
} as const satisfies UnstampedInput

/** A loop at the moment before its first command; `order` says in which order the world heard of what. */
export function loopAt(moment: Moment, state: ReservoirState = moment.state, changes: Partial<LoopOptions> = {}) {
  const order: string[] = []
  const ledger = new MemoryLedger((what) => order.push(what))
  const clock = createLockstepClock(moment.input.atMs)
  const told: { faults: LedgerFault[]; broken: unknown[]; effects: Effect[]; term: number } = {
    ...{ faults: [], broken: [], effects: [] },
    term: 1,
  }
  const loop = new Loop({
    ...{ settings: moment.settings, configurationHash: HASH, state, reservoirId: SITE, term: 1, headSequence: 0 },
    ledger,
    clock,
    link: {
      sendCommand: async (node, pump) => {
        order.push(`sent ${node}/${pump}`)
        return 'sent'
      },
    },
    leases: () => ({
      allow: (node) => order.push(`allowed ${node}`),
      withdraw: (node) => order.push(`withdrawn ${node}`),
      pause: () => order.push('paused'),
      heard: () => {},
      linkUp: () => {},
      stop: () => {},
    }),
    onEffect: (effect) => told.effects.push(effect),
    startAgain: async () => ({ controller: 'tests', term: ++told.term, utcOffsetMin: 0 }),
    onStartedAgain: () => order.push('started again'),
    onFenced: () => order.push('fenced'),
    onFault: (fault) => told.faults.push(fault),
    onBroken: (error) => {
      order.push('broken')
      told.broken.push(error)
    },
    ...changes,
  })
  return { loop, ledger, clock, order, told, dose: () => loop.take(unstamped(moment)) }
}

export function unstamped({ input }: Moment): UnstampedInput {
  const { atMs: _atMs, ...rest } = input
  return rest as UnstampedInput
}

export function alarmsOf({ effects }: { readonly effects: readonly Effect[] }): readonly string[] {
  return effects.flatMap((effect) => (effect.kind === 'alarm' ? [effect.alarm] : []))
}
