import type { OpenCommand } from './book.ts'
import { andThen, type Outcome, quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import { settleRun } from './settlement.ts'
import { type PumpState, pumpNamed, type SafetyState, withPump } from './state.ts'
import { closeAfterFall } from './totaliser-fall.ts'

export interface Report {
  readonly id: string
  readonly boot: string
  readonly uptimeMs: number
  readonly state: 'accepted' | 'running' | 'done' | 'refused' | 'stopped'
  readonly ranMs: number
  readonly totalRunMs: number
}

/**
 * What a node says became of a command. Reports of an unknown command, of another pump or boot, duplicates, and
 * reports that only say it is on its way change nothing.
 */
export function onReport(
  limits: Limits,
  state: SafetyState,
  input: { readonly atMs: number; readonly node: string; readonly pump: string; readonly report: Report },
): Transition {
  const { atMs, node, pump, report } = input
  const command = state.book.commands.find((open) => open.commandId === report.id)
  if (command === undefined || report.state === 'accepted' || report.state === 'running') return quietly(state)
  if (command.node !== node || command.pump !== pump || command.boot !== report.boot) return quietly(state)
  if (isBelowHeard(pumpNamed(state, node, pump), report) || report.totalRunMs < command.totalRunMs) {
    return withLeases(closeAfterFall(limits, state, { atMs, node, pump, command }))
  }
  return withLeases(
    andThen(settleByReport(limits, state, command, report, atMs), (next) => quietly(withReport(next, input))),
  )
}

/** One that was sent before what was heard last, and came after it, tells an older count and is no fall. */
function isBelowHeard(pump: PumpState | undefined, report: Report): boolean {
  return pump?.heard != null && !isLate(pump, report) && report.totalRunMs < pump.heard.totalRunMs
}

/** The node’s own count of the run and its totaliser both speak; the interval holds both. */
function settleByReport(
  limits: Limits,
  state: SafetyState,
  command: OpenCommand,
  report: Report,
  atMs: number,
): Transition {
  const grownMs = report.totalRunMs - command.totalRunMs
  const surelyMs = Math.min(report.ranMs, grownMs)
  const countedMs = Math.max(report.ranMs, grownMs)
  return settleRun(limits, state, command, {
    atMs,
    outcome: outcomeOf(report, countedMs),
    ran: { surelyMs, possiblyMs: countedMs },
    countedMs,
    totalRunMs: report.totalRunMs,
  })
}

/** A node that says it refused, yet ran, has in truth stopped on the way. */
function outcomeOf(report: Report, countedMs: number): Outcome {
  if (report.state === 'refused') return countedMs === 0 ? 'refused' : 'stopped'
  return report.state === 'done' ? 'done' : 'stopped'
}

/**
 * The report’s total is what the command explains; anything beyond it shows at the next heartbeat. Of a node that the
 * limits no longer name no totals are kept.
 */
function withReport(
  state: SafetyState,
  input: { readonly node: string; readonly pump: string; readonly report: Report },
): SafetyState {
  const { boot, uptimeMs, totalRunMs, id } = input.report
  const pump = pumpNamed(state, input.node, input.pump)
  if (pump === undefined) return state
  const runningId = pump.runningId === id ? null : pump.runningId
  const heard = { boot, totalRunMs, doubtMs: pump.heard?.doubtMs ?? 0 }
  const news = isLate(pump, input.report) ? {} : { boot, uptimeMs, heard }
  return withPump(state, input.node, input.pump, { ...news, totalRunMs, runningId })
}

/** Whether the node has said something of this pump since. */
function isLate(pump: PumpState, { boot, uptimeMs }: Report): boolean {
  return pump.boot !== boot || uptimeMs < pump.uptimeMs
}
