import type { OpenCommand } from './book.ts'
import { andThen, quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import { type Limits, type StockLimits, stockOfPump } from './limits.ts'
import { adoptBoot, isPastBoot } from './node-boot.ts'
import { deliveredBy, settle, settleRun, tripIfOverran } from './settlement.ts'
import {
  type HeardTotals,
  nodeNamed,
  type PumpState,
  pumpNamed,
  type SafetyState,
  withNode,
  withPump,
} from './state.ts'
import { closeAfterFall, heardRunMs, isFall } from './totaliser-fall.ts'
import { latch } from './trip.ts'
import { tellDuration } from './wording.ts'

interface Heartbeat {
  readonly boot: string
  readonly uptimeMs: number
  readonly term: number
  readonly pumps: readonly PumpBeat[]
}

export interface PumpBeat {
  readonly id: string
  readonly totalRunMs: number
  readonly doubtMs: number
  readonly runningId?: string | undefined
}

interface Heard {
  readonly atMs: number
  readonly node: string
  readonly heartbeat: Heartbeat
}

/**
 * A node’s clock and totalisers. A command that can no longer start or run is settled by what its pump’s totaliser
 * grew; growth that no command explains trips. A late heartbeat, older than the last one, changes
 * nothing; one that tells the same moment again is no sign of life.
 */
export function onHeartbeat(limits: Limits, state: SafetyState, heard: Heard): Transition {
  const { node: name, heartbeat } = heard
  const node = nodeNamed(state, name)
  if (node === undefined || isPastBoot(node, heartbeat.boot)) return quietly(state)
  const last = node.boot === heartbeat.boot ? node.heartbeat : null
  const isLate = last !== null && heartbeat.uptimeMs < last.uptimeMs
  // The clock of a living node moves on: the same moment told again makes nothing fresh. What its pumps ran counts.
  const isRepeated = last !== null && heartbeat.uptimeMs === last.uptimeMs
  if (isLate) return quietly(state)
  let next = andThen(adoptBoot(state, name, heartbeat.boot), (booted) => {
    if (isRepeated) {
      const seen = { ...last, term: Math.max(last.term, heartbeat.term) }
      return quietly(withNode(booted, name, { heartbeat: seen }))
    }
    const beat = { uptimeMs: heartbeat.uptimeMs, atMs: heard.atMs, term: heartbeat.term }
    return quietly(withNode(booted, name, { heartbeat: beat }))
  })
  for (const beat of heartbeat.pumps) next = andThen(next, (before) => onPumpBeat(limits, before, heard, beat))
  return withLeases(next)
}

function onPumpBeat(limits: Limits, state: SafetyState, heard: Heard, beat: PumpBeat): Transition {
  const { node: name, heartbeat } = heard
  const pump = pumpNamed(state, name, beat.id)
  const isLate = pump?.boot === heartbeat.boot && heartbeat.uptimeMs < pump.uptimeMs
  if (isLate) return quietly(state)
  const command = state.book.commands.find((open) => open.node === name && open.pump === beat.id)
  if (isFall(pump, command, heardOf(heartbeat.boot, beat))) {
    return andThen(closeAfterFall(limits, state, { atMs: heard.atMs, node: name, pump: beat.id, command }), (next) =>
      quietly(withTotals(next, heard, beat)),
    )
  }
  const told =
    command === undefined
      ? withoutCommand(limits, state, heard, beat, pump)
      : withCommand(limits, state, heard, beat, { ...command, heardMs: heardRunMs(pump, command) })
  return andThen(told, (next) => quietly(withTotals(next, heard, beat)))
}

function withCommand(
  limits: Limits,
  state: SafetyState,
  heard: Heard,
  beat: PumpBeat,
  command: OpenCommand & { readonly heardMs: number },
): Transition {
  const { boot, uptimeMs } = heard.heartbeat
  const surelyMs = beat.totalRunMs - command.totalRunMs
  const toldMs = surelyMs + Math.max(0, beat.doubtMs - command.doubtMs)
  // a start of the node in mid-run takes back what was counted of it
  const possiblyMs = Math.max(toldMs, command.heardMs)
  const isOver = boot !== command.boot || (uptimeMs >= command.startBeforeUptimeMs && beat.runningId === undefined)
  if (!isOver) return tripIfOverran(state, command, surelyMs, heard.atMs)
  return settleRun(limits, state, command, {
    atMs: heard.atMs,
    outcome: surelyMs >= command.runMs ? 'done' : 'stopped',
    ran: { surelyMs, possiblyMs },
    countedMs: surelyMs,
    totalRunMs: beat.totalRunMs,
  })
}

/** Growth without a command of ours: it counts, and what surely ran trips. */
function withoutCommand(
  limits: Limits,
  state: SafetyState,
  heard: Heard,
  beat: PumpBeat,
  pump: PumpState | undefined,
): Transition {
  const surelyMs = beat.totalRunMs - (pump?.totalRunMs ?? beat.totalRunMs)
  const possiblyMs = surelyMs + beat.doubtMs - (pump?.doubtMs ?? beat.doubtMs)
  if (possiblyMs <= 0) return quietly(state)
  const entry = stockOfPump(limits, heard.node, beat.id)
  const counted =
    entry === null ? quietly(state) : countRunAlone(limits, state, heard, beat, { entry, surelyMs, possiblyMs })
  if (surelyMs <= 0) return counted
  const what = entry === null ? beat.id : `${beat.id} (${entry.stock})`
  return andThen(counted, (next) =>
    latch(next, {
      trip: 'pump-ran-alone',
      subject: `${heard.node}/${beat.id}`,
      why:
        `${what} on ${heard.node} ran ${tellDuration(surelyMs)} without a command; ` +
        'find out who or what ran it, then reset the trip',
      atMs: heard.atMs,
    }),
  )
}

function countRunAlone(
  limits: Limits,
  state: SafetyState,
  heard: Heard,
  beat: PumpBeat,
  { entry, ...ran }: { entry: StockLimits; surelyMs: number; possiblyMs: number },
): Transition {
  const rateUlPerS = state.ratesUlPerS[entry.stock] ?? entry.rateUlPerS
  const settlement = {
    atMs: heard.atMs,
    commandId: `no-command:${heard.node}/${beat.id}:${beat.totalRunMs}+${beat.doubtMs}`,
    stock: entry.stock,
    delivered: deliveredBy(ran, rateUlPerS),
  }
  return settle(limits, state, settlement, 'done', beat.totalRunMs)
}

/** While a command of this pump is open its totals stay as they were before it, so that no run is lost between two. */
function withTotals(state: SafetyState, heard: Heard, beat: PumpBeat): SafetyState {
  const { boot, uptimeMs } = heard.heartbeat
  const pump = pumpNamed(state, heard.node, beat.id)
  const isOpen = state.book.commands.some((open) => open.node === heard.node && open.pump === beat.id)
  // A pump that rests says the same every few seconds. Its moment then need not move on: a heartbeat older than the
  // last one is turned away before, and a report only has to be newer than the last report.
  if (!isOpen && pump !== undefined && saysTheSame(pump, boot, beat)) return state
  const totals = isOpen ? {} : { totalRunMs: beat.totalRunMs, doubtMs: beat.doubtMs }
  const told = { ...totals, boot, runningId: beat.runningId ?? null, uptimeMs, heard: heardOf(boot, beat) }
  return withPump(state, heard.node, beat.id, told)
}

/** Whether every figure that this beat would write stands there already. */
function saysTheSame(pump: PumpState, boot: string, { totalRunMs, doubtMs, runningId }: PumpBeat): boolean {
  const last = heardOf(boot, { totalRunMs, doubtMs })
  return pump.runningId === (runningId ?? null) && isSame(pump, last) && isSame(pump.heard, last)
}

function isSame(there: Pick<PumpState, keyof HeardTotals> | null | undefined, last: HeardTotals): boolean {
  return there?.boot === last.boot && there.totalRunMs === last.totalRunMs && there.doubtMs === last.doubtMs
}

function heardOf(boot: string, { totalRunMs, doubtMs }: Omit<HeardTotals, 'boot'>): HeardTotals {
  return { boot, totalRunMs, doubtMs }
}
