/** The real gate, told the same list; its answers are what the second model is compared with. */

import { type Facts, factsFor } from '../../../src/safety/facts.ts'
import type { Transition } from '../../../src/safety/happening.ts'
import { INTERLOCKS } from '../../../src/safety/interlocks.ts'
import { judge } from '../../../src/safety/judge.ts'
import type { Limits } from '../../../src/safety/limits.ts'
import { momentFacts } from '../../../src/safety/moment-facts.ts'
import { onEdge } from '../../../src/safety/on-edge.ts'
import { onHeartbeat } from '../../../src/safety/on-heartbeat.ts'
import { onInstruction } from '../../../src/safety/on-instruction.ts'
import { onNodeStatus } from '../../../src/safety/on-node-status.ts'
import { onReadings } from '../../../src/safety/on-readings.ts'
import { onReport } from '../../../src/safety/on-report.ts'
import { onStart } from '../../../src/safety/on-start.ts'
import { onTick } from '../../../src/safety/on-tick.ts'
import { initialSafetyState, type SafetyState } from '../../../src/safety/state.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import type { Sent, Told } from './told.ts'

/** Both sides of one site: what was told, and what the gate made of it. */
export class Gate {
  readonly limits: Limits
  readonly told: Told[] = []
  private state: SafetyState
  private made = 0

  constructor(limits: Limits) {
    this.limits = limits
    this.state = initialSafetyState(limits)
  }

  /** Tells the gate anything but a shot. */
  tell(event: Exclude<Told, { kind: 'shot' }>): void {
    this.state = fold(this.limits, this.state, event).state
    this.told.push(event)
  }

  /** The interlocks that refuse a wish; none where it is permitted. Changes nothing. */
  refusals(wish: ShotWish, atMs: number): readonly string[] {
    const { verdict } = judge(this.limits, this.state, wish, atMs, 'question')
    return verdict.kind === 'permit' ? [] : verdict.why.map((refusal) => refusal.interlock)
  }

  /**
   * The same for many wishes of one moment: the gate’s own rows on its own facts, each stock’s worked out once. It
   * leaves out what `judge` does beside, above all writing down every figure; a share of wishes is asked of both.
   */
  rowsAt(atMs: number): (wish: ShotWish) => readonly string[] {
    const { limits, state } = this
    const moment = momentFacts(limits, state, atMs)
    const byStock = new Map<string, Facts>()
    return (wish) => {
      const { stock } = wish
      const facts = byStock.get(stock) ?? factsFor(limits, state, { stock, atMs, commandId: 'question' }, moment)
      byStock.set(stock, facts)
      return INTERLOCKS.filter((row) => !row.holds(wish, facts, limits)).map((row) => row.id)
    }
  }

  /** Sends a shot if the gate permits it; null where it does not. */
  shoot(wish: ShotWish, atMs: number): Sent | null {
    this.made += 1
    const { state, verdict } = judge(this.limits, this.state, wish, atMs, `shot-${this.made}`)
    if (verdict.kind === 'refuse') return null
    this.state = state
    const { id, node, pump, runMs, boot, startBeforeUptimeMs } = verdict.shot
    const sent = { id, node, pump, runMs, boot, startBeforeUptimeMs }
    this.told.push({ kind: 'shot', atMs, wish, sent })
    return sent
  }
}

function fold(limits: Limits, state: SafetyState, event: Exclude<Told, { kind: 'shot' }>): Transition {
  switch (event.kind) {
    case 'start':
      return onStart(limits, state, event)
    case 'status':
      return onNodeStatus(limits, state, event)
    case 'heartbeat':
      return onHeartbeat(limits, state, event)
    case 'readings':
      return onReadings(limits, state, event)
    case 'report':
      return onReport(limits, state, event)
    case 'edge':
      return onEdge(limits, state, event)
    case 'instruction':
      return onInstruction(limits, state, event)
    case 'tick':
      return onTick(limits, state, event)
  }
}
