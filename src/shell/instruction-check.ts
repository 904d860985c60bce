/** Whether there is anything that a person’s instruction could be about. */

import type { Configuration } from '../config/configuration.ts'
import { shelvingRefused } from '../core/alarm/persons-word.ts'
import { reservoirSettings } from '../reservoir/configure-reservoir.ts'
import type { Instruction } from '../reservoir/input.ts'
import { type LimitInstruction, limitRefused } from '../reservoir/limit-change.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import { unsettledName } from '../safety/close-unsettled.ts'
import { faultsOfLimits } from './limit-check.ts'

interface Instructed {
  readonly configuration: Configuration
  readonly state: ReservoirState
  readonly nowMs: number
  readonly instruction: Instruction
}

/** A sentence where what is named is not there, with what is; undefined where it is. */
export function nothingToInstruct({ configuration, state, nowMs, instruction }: Instructed): string | undefined {
  switch (instruction.instruction) {
    case 'release':
      return state.safety.held ? undefined : 'dosing is not on hold, so there is nothing to release'
    case 'reset':
      return unlessWaiting('trip', instruction.trip, toReset(state))
    case 'ration':
      return rationMissing(configuration, state, instruction.decision)
    case 'acknowledge':
      return unlessWaiting('alarm', instruction.alarm, alarmsToAcknowledge(state))
    case 'shelve':
      return shelvingRefused(instruction.alarm, instruction.untilMs, nowMs)
    case 'unshelve':
      return state.alarms[instruction.alarm]?.condition === 'shelved'
        ? undefined
        : `"${instruction.alarm}" is not shelved`
    case 'approve':
      return noPlan(state, instruction.planId)
    case 'calibrate':
      return unlessKnown('probe', instruction.probe, configuration.site.probes)
    case 'pump-rate':
      return unlessKnown('stock', instruction.stock, configuration.site.stocks)
    case 'limit':
      return noLimit(configuration, state, instruction)
    default:
      return undefined
  }
}

/** A sentence where this site has no such pump, or its stock no cap for runs for a person. */
export function nothingToRun(
  { site, limits }: Configuration,
  { stock }: { readonly stock: string },
): string | undefined {
  const unknown = unlessKnown('stock', stock, site.stocks)
  if (unknown !== undefined) return unknown
  return limits.stocks[stock]?.calibration === undefined
    ? `the limits file has no cap for calibration runs of ${stock}, so its pump runs for nobody; add stocks.${stock}.calibration with runMaxMl and dayMaxMl`
    : undefined
}

/** The loop refuses what goes beyond a ceiling or meets another change; all else that a file is held to is asked here. */
function noLimit(
  configuration: Configuration,
  state: ReservoirState,
  instruction: LimitInstruction,
): string | undefined {
  const settings = reservoirSettings(configuration)
  const refused = limitRefused(settings, state.changedLimits, instruction)
  if (refused !== undefined) return refused
  const faults = faultsOfLimits(configuration, state, { [instruction.limit]: instruction.value })
  return faults.length === 0 ? undefined : faults.join(' ').replace(/[.]$/, '')
}

function noPlan({ core, safety }: ReservoirState, planId: string): string | undefined {
  if (safety.mode !== 'advise') return `only in the mode advise are plans approved; the mode is ${safety.mode}`
  if (core?.plan?.id === planId) return undefined
  return core?.plan ? `the newest plan is ${core.plan.id}, not ${planId}; read that one first` : 'there is no plan yet'
}

function rationMissing(
  { limits }: Configuration,
  { safety }: ReservoirState,
  decision: 'approve' | 'withdraw',
): string | undefined {
  if (decision === 'withdraw') return safety.ration ? undefined : 'no ration is approved, so there is none to withdraw'
  return limits.ration ? undefined : 'the limits file has no section ration, so there is none to approve'
}

/** Trips, and commands that a node gone for good will never settle. */
function toReset({ safety }: ReservoirState): ReadonlySet<string> {
  const unsettled = safety.book.commands.filter(({ status }) => status === 'unknown')
  return new Set([
    ...safety.trips.map(({ trip }) => trip),
    ...unsettled.map(({ commandId }) => unsettledName(commandId)),
  ])
}

function alarmsToAcknowledge(state: ReservoirState): ReadonlySet<string> {
  const waiting = Object.entries(state.alarms).filter(
    ([, { condition }]) => condition === 'unacknowledged' || condition === 'returned' || condition === 'latched',
  )
  return new Set(waiting.map(([alarm]) => alarm))
}

function unlessWaiting(kind: string, named: string, there: ReadonlySet<string>): string | undefined {
  if (there.has(named)) return undefined
  return `no ${kind} "${named}" waits for a person; ${there.size === 0 ? 'none does' : `there is ${[...there].join(', ')}`}`
}

function unlessKnown(kind: string, named: string, there: readonly { readonly id: string }[]): string | undefined {
  if (there.some(({ id }) => id === named)) return undefined
  return `this site has no ${kind} "${named}"; it has ${there.map(({ id }) => id).join(', ')}`
}
