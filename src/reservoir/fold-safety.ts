/** An input as safety hears it: raw readings by role, nothing else translated. */

import { type Quantity, toInsideUnit, type UnitCode, unitFits } from '../contract/unit.ts'
import { quietly, type Transition } from '../safety/happening.ts'
import type { Limits, ProbeRole } from '../safety/limits.ts'
import { onEdge } from '../safety/on-edge.ts'
import { onHeartbeat } from '../safety/on-heartbeat.ts'
import { onInstruction } from '../safety/on-instruction.ts'
import { onNodeStatus } from '../safety/on-node-status.ts'
import { onReadings, type RoleReading } from '../safety/on-readings.ts'
import { onReport } from '../safety/on-report.ts'
import { onStart } from '../safety/on-start.ts'
import type { SafetyState } from '../safety/state.ts'
import type { Input, InstructionInput, ScanInput } from './input.ts'

/** Safety’s answer to one input; inputs that are none of its business change nothing. */
export function foldSafety(limits: Limits, state: SafetyState, input: Input): Transition {
  switch (input.kind) {
    case 'start':
      return onStart(limits, state, input)
    case 'node-status':
      return onNodeStatus(limits, state, input)
    case 'heartbeat':
      return onHeartbeat(limits, state, input)
    case 'scan':
      return onReadings(limits, state, { atMs: input.atMs, node: input.node, readings: roleReadings(limits, input) })
    case 'pump-report':
      return onReport(limits, state, input)
    case 'instruction':
      return hearInstruction(limits, state, input)
    case 'edge':
      return onEdge(limits, state, input)
    case 'laboratory-result':
    case 'laboratory-withdrawal':
    case 'laboratory-decision':
    case 'spot-reading':
    case 'act':
    case 'tick':
      return quietly(state)
  }
}

/** A flow switch is limited between 0 and 1, so a flow in litres cannot pass for one. */
function isFlowSwitch(role: ProbeRole, unit: UnitCode): boolean {
  return role === 'flow' && unitFits(unit, 'switch')
}

/** A person’s word, new or from its record; what alarms or the estimate alone are told is none of safety’s business. */
export function hearInstruction(
  limits: Limits,
  state: SafetyState,
  input: Pick<InstructionInput, 'atMs' | 'by' | 'reason' | 'instruction'>,
): Transition {
  const { atMs, by, reason, instruction } = input
  switch (instruction.instruction) {
    case 'shelve':
    case 'unshelve':
    case 'limit':
    case 'reset-learning':
    // judged as a shot is, once its word is on record
    case 'pump-run':
      return quietly(state)
    default:
      return onInstruction(limits, state, { atMs, by, reason, instruction })
  }
}

const QUANTITY_OF: Readonly<Record<ProbeRole, Quantity>> = {
  conductivity: 'conductivity',
  ph: 'ph',
  temperature: 'temperature',
  level: 'level',
  'top-up': 'volume',
  flow: 'flow',
  'hold-switch': 'switch',
}

/** The make-up meter is no condition of a shot, so it stands beside the probes. */
function roleOf(limits: Limits, node: string, id: string): ProbeRole | undefined {
  if (limits.meter?.id === id && limits.meter.node === node) return 'top-up'
  return limits.probes.find((probe) => probe.id === id && probe.node === node)?.role
}

/** Readings of probes that the limits name; one in a unit that cannot state its role is passed on as bad. */
function roleReadings(limits: Limits, input: ScanInput): readonly RoleReading[] {
  const readings: RoleReading[] = []
  for (const reading of input.scan.readings) {
    const role = roleOf(limits, input.node, reading.id)
    if (!role) continue
    const isFit = unitFits(reading.unit, QUANTITY_OF[role]) || isFlowSwitch(role, reading.unit)
    const quality = isFit ? (reading.quality ?? 'good') : 'bad'
    readings.push({ id: reading.id, role, value: toInsideUnit(reading.value, reading.unit), quality })
  }
  return readings
}
