import { missingSensors } from './caps.ts'
import { type DoseFacts, doseFacts } from './dose-facts.ts'
import { switchHeldBecause } from './hold-switch.ts'
import { isComplete, type Limits, type ProbeRole, stockLimitsOf } from './limits.ts'
import { type MomentFacts, momentFacts } from './moment-facts.ts'
import { type NodeFacts, nodeFacts } from './node-facts.ts'
import { type RationFacts, rationFacts } from './ration-facts.ts'
import type { SafetyState, Sanitise } from './state.ts'
import type { Mode } from './types.ts'
import type { WaterFacts } from './water-facts.ts'

/**
 * Everything an interlock may look at, worked out once for one stock at one moment. What is not known is NaN or null,
 * and no interlock holds on either.
 */
export interface Facts extends WaterFacts, NodeFacts, DoseFacts, RationFacts {
  readonly atMs: number
  readonly stock: string
  readonly started: boolean
  readonly term: number
  readonly mode: Mode
  readonly approvedPlanId: string | null
  readonly approvalAgeMs: number
  readonly heldBy: string | null
  readonly trips: readonly string[]
  readonly sanitising: Sanitise['phase'] | null
  readonly switchHeld: string | null
  readonly linkUp: boolean
  readonly diskWritable: boolean
  readonly clockSane: boolean
  readonly limitsComplete: boolean
  readonly missingSensors: readonly ProbeRole[]
  readonly commandIdNew: boolean
}

export interface Question {
  readonly stock: string
  readonly atMs: number
  /** absent where only the headroom is asked */
  readonly commandId?: string
}

/** The facts for a shot of one stock now. */
export function factsFor(
  limits: Limits,
  state: SafetyState,
  question: Question,
  { water, elementDays }: MomentFacts = momentFacts(limits, state, question.atMs),
): Facts {
  const { stock, atMs, commandId } = question
  const entry = stockLimitsOf(limits, stock)
  return {
    atMs,
    stock,
    started: state.started,
    term: state.term ?? Number.NaN,
    mode: state.mode,
    approvedPlanId: state.approved?.planId ?? null,
    approvalAgeMs: state.approved === null ? Number.NaN : atMs - state.approved.atMs,
    heldBy: state.held?.by ?? null,
    trips: state.trips.map((trip) => trip.trip),
    sanitising: state.sanitise?.phase ?? null,
    switchHeld: switchHeldBecause(limits, state.readings, atMs),
    linkUp: state.linkUp,
    diskWritable: state.diskWritable,
    clockSane: state.clockSane,
    limitsComplete: entry !== null && isComplete(limits, entry),
    missingSensors: missingSensors(limits),
    commandIdNew: isNewId(state, commandId),
    ...water,
    ...nodeFacts(state, entry, atMs),
    ...doseFacts(limits, state, entry, atMs, elementDays),
    ...rationFacts(limits, state, stock, water, atMs),
  }
}

/** Where no command is asked for, none is old. */
function isNewId(state: SafetyState, commandId: string | undefined): boolean {
  if (commandId === '' || state.book.commands.some((open) => open.commandId === commandId)) return false
  return !Object.values(state.book.stocks).some((stock) => stock.rows.some((row) => row.commandId === commandId))
}
