/** The real gate, told the same history in its own words. */

import { type Facts, factsFor } from '../../../src/safety/facts.ts'
import { INTERLOCKS } from '../../../src/safety/interlocks.ts'
import { judge } from '../../../src/safety/judge.ts'
import type { Limits, ProbeRole } from '../../../src/safety/limits.ts'
import { momentFacts } from '../../../src/safety/moment-facts.ts'
import { onAct } from '../../../src/safety/on-act.ts'
import { type EdgeWord, onEdge } from '../../../src/safety/on-edge.ts'
import { onHeartbeat } from '../../../src/safety/on-heartbeat.ts'
import { onInstruction, type SafetyInstruction } from '../../../src/safety/on-instruction.ts'
import { onNodeStatus } from '../../../src/safety/on-node-status.ts'
import { onReadings } from '../../../src/safety/on-readings.ts'
import { onReport } from '../../../src/safety/on-report.ts'
import { onStart } from '../../../src/safety/on-start.ts'
import { onTick } from '../../../src/safety/on-tick.ts'
import { initialSafetyState, type SafetyState } from '../../../src/safety/state.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import type { Item, Word } from './history.ts'

export class Gate {
  readonly limits: Limits
  state: SafetyState

  constructor(limits: Limits) {
    this.limits = limits
    this.state = initialSafetyState(limits)
  }

  /** Through the public entry: what refuses, none where it is permitted. A permitted shot is in the book afterwards. */
  shoot(wish: ShotWish, nowMs: number, id: string): string[] {
    const { state, verdict } = judge(this.limits, this.state, wish, nowMs, id)
    if (verdict.kind === 'refuse') return verdict.why.map((refusal) => refusal.interlock)
    this.state = state
    return []
  }

  /** The same for many wishes of one moment, without the figures that `judge` writes down and without the book. */
  rowsAt(nowMs: number, commandId: string): (wish: ShotWish) => string[] {
    const { limits, state } = this
    const moment = momentFacts(limits, state, nowMs)
    const known = new Map<string, Facts>()
    return (wish) => {
      const { stock } = wish
      const facts = known.get(stock) ?? factsFor(limits, state, { stock, atMs: nowMs, commandId }, moment)
      known.set(stock, facts)
      return INTERLOCKS.filter((row) => !row.holds(wish, facts, limits)).map((row) => row.id)
    }
  }

  tell(item: Item): void {
    const { limits, state } = this
    const { atMs } = item
    switch (item.what) {
      case 'start':
        this.state = onStart(limits, state, { atMs, controller: 'keeper', term: item.term }).state
        break
      case 'scan':
        this.state = onReadings(limits, state, { ...item, readings: withRoles(limits, item.readings) }).state
        break
      case 'status': {
        const { contract, online, boot, pumps } = item
        const status = { contract, online, boot, ...(pumps === null ? {} : { pumps }) }
        this.state = onNodeStatus(limits, state, { atMs, node: item.node, status }).state
        break
      }
      case 'heartbeat': {
        const pumps = item.pumps.map(({ runningId, ...pump }) => (runningId === null ? pump : { ...pump, runningId }))
        this.state = onHeartbeat(limits, state, { atMs, node: item.node, heartbeat: { ...item, pumps } }).state
        break
      }
      case 'report':
        this.state = onReport(limits, state, { ...item, report: { ...item, id: item.commandId } }).state
        break
      case 'tick':
        this.state = onTick(limits, state, { atMs }).state
        break
      case 'edge':
      case 'sent':
      case 'not-sent':
        this.state = onEdge(limits, state, { atMs, news: edgeOf(item) }).state
        break
      case 'command':
        break
      default:
        this.hear(item)
    }
  }

  private hear(word: Word): void {
    const { limits, state } = this
    const { atMs } = word
    if (word.what === 'refilled')
      this.state = onAct(limits, state, { atMs, act: { ...word, act: 'stock-refilled' } }).state
    else if (word.what === 'water-moved')
      this.state = onAct(limits, state, { atMs, act: { act: atMs % 2 === 0 ? 'drained' : 'salt-added' } }).state
    else if (word.what === 'rinsed' || word.what === 'probe-checked')
      this.state = onAct(limits, state, { atMs, act: { act: word.what, doneAtMs: word.doneAtMs } }).state
    else {
      const by = 'by' in word ? word.by : ''
      const reason = 'reason' in word ? word.reason : ''
      this.state = onInstruction(limits, state, { atMs, by, reason, instruction: instructionOf(word) }).state
    }
  }
}

/** A counter that no limit names as a probe is a top-up meter. */
function withRoles<T extends { readonly id: string }>(
  limits: Limits,
  readings: readonly T[],
): (T & { role: ProbeRole })[] {
  return readings.map((one) => ({ ...one, role: limits.probes.find(({ id }) => id === one.id)?.role ?? 'top-up' }))
}

function edgeOf(item: Extract<Item, { what: 'edge' | 'sent' | 'not-sent' }>): EdgeWord {
  if (item.what === 'sent') return { edge: 'command-sent', commandId: item.commandId }
  if (item.what === 'not-sent') return { edge: 'command-not-sent', commandId: item.commandId }
  if (item.edge === 'link') return { edge: 'link', up: item.well }
  if (item.edge === 'disk') return { edge: 'disk', writable: item.well }
  return { edge: 'clock', sane: item.well }
}

type Order = Exclude<Word, { what: 'refilled' | 'rinsed' | 'probe-checked' | 'water-moved' }>

function instructionOf(word: Order): SafetyInstruction {
  switch (word.what) {
    case 'mode':
      return { instruction: 'mode', mode: word.mode }
    case 'approve':
      return { instruction: 'approve', planId: word.planId }
    case 'hold':
    case 'release':
      return { instruction: word.what }
    case 'reset':
      return { instruction: 'reset', trip: word.trip }
    case 'ration':
      return { instruction: 'ration', decision: word.approve ? 'approve' : 'withdraw' }
    case 'sanitise':
      return { instruction: 'sanitise', phase: word.begin ? 'begin' : 'end' }
    case 'rate':
      return { instruction: 'pump-rate', stock: word.stock, rateMlPerMin: (word.rateUlPerS * 60) / 1000 }
  }
}
