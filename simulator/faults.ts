// What can go wrong with a plant, as data. A fault says when it begins and, unless it is a moment, how long it lasts.

import { z } from 'zod'

const DAY_MS = 86_400_000
const HOUR_MS = 3_600_000

const when = {
  fromDay: z.number().nonnegative().meta({ description: 'days after the start of the scenario' }),
  hours: z.number().positive().optional().meta({ description: 'how long it lasts; left out: to the end' }),
}
const moment = { fromDay: when.fromDay }
const probe = { probe: z.string() }
const pump = { pump: z.string() }
const node = { node: z.string() }
const share = z.number().min(0).max(1)

export const faultSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('flow-stop'), ...when }),
  z.strictObject({ kind: z.literal('flow-weak'), ...when, factor: share }),
  z.strictObject({ kind: z.literal('top-up-stuck-open'), ...when }),
  z.strictObject({ kind: z.literal('top-up-stuck-closed'), ...when }),
  z.strictObject({ kind: z.literal('leak'), ...when, litresPerHour: z.number().positive() }),
  z.strictObject({ kind: z.literal('heat-wave'), ...when, waterFactor: z.number().positive(), warmerC: z.number() }),
  z.strictObject({ kind: z.literal('source-change'), ...when, factor: z.number().positive() }),
  z.strictObject({ kind: z.literal('slow-mixing'), ...when, factor: z.number().min(1) }),
  z.strictObject({ kind: z.literal('pump-weak'), ...when, ...pump, factor: z.number().min(0).max(2) }),
  z.strictObject({ kind: z.literal('pump-jammed'), ...when, ...pump }),
  z.strictObject({ kind: z.literal('pump-runs-on'), ...when, ...pump }),
  z.strictObject({ kind: z.literal('siphon'), ...when, ...pump, mlPerHour: z.number().positive() }),
  z.strictObject({ kind: z.literal('stock-strength'), ...when, ...pump, factor: z.number().min(0).max(5) }),
  z.strictObject({ kind: z.literal('stock-empty'), ...when, ...pump }),
  z.strictObject({ kind: z.literal('stocks-swapped'), ...when, ...pump, with: z.string() }),
  z.strictObject({ kind: z.literal('probe-stuck'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('probe-drift'), ...when, ...probe, perDay: z.number() }),
  z.strictObject({ kind: z.literal('probe-step'), ...when, ...probe, by: z.number() }),
  z.strictObject({ kind: z.literal('probe-noisy'), ...when, ...probe, sd: z.number().positive() }),
  z.strictObject({ kind: z.literal('probe-dry'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('probe-silent'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('probe-bad-quality'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('ph-cable-open'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('meter-stopped'), ...when, ...probe }),
  z.strictObject({ kind: z.literal('node-reboot'), ...moment, ...node }),
  z.strictObject({ kind: z.literal('node-silent'), ...when, ...node }),
  z.strictObject({ kind: z.literal('node-disobeys-lease'), ...when, ...node }),
  z.strictObject({ kind: z.literal('node-forgets-totals'), ...moment, ...node }),
  z.strictObject({ kind: z.literal('messages-lost'), ...when, ...node, share }),
  z.strictObject({ kind: z.literal('messages-doubled'), ...when, ...node, share }),
  z.strictObject({ kind: z.literal('messages-late'), ...when, ...node, byMs: z.number().int().positive() }),
  z.strictObject({ kind: z.literal('laboratory-late'), ...when, days: z.number().positive() }),
  z.strictObject({ kind: z.literal('laboratory-nitrate-as-ion'), ...when }),
])

export type Fault = z.infer<typeof faultSchema>
export type FaultKind = Fault['kind']
export type FaultOf<K extends FaultKind> = Extract<Fault, { kind: K }>

/** Every kind of fault there is, for tests that prove each one to fire. */
export const FAULT_KINDS: readonly FaultKind[] = faultSchema.options.map((option) => option.shape.kind.value)

export interface FaultBoard {
  /** The living fault of a kind that concerns this pump, probe or node (or nothing in particular). */
  find<K extends FaultKind>(kind: K, target?: string): FaultOf<K> | undefined
  /** Days since a living fault began. */
  ageDays(fault: Fault, atMs: number): number
  /** The next moment at which anything begins or ends. */
  nextChangeMs(): number
  /** Moves to a moment and returns the faults that begin now. */
  moveTo(atMs: number): readonly Fault[]
}

/** The faults of a scenario on the plant's clock. Nothing is drawn here: what fires is what the data says. */
export function createFaultBoard(faults: readonly Fault[], startMs: number): FaultBoard {
  const planned = faults.map((fault) => {
    const fromMs = startMs + Math.round(fault.fromDay * DAY_MS)
    const hours = 'hours' in fault ? fault.hours : undefined
    return { fault, fromMs, untilMs: hours === undefined ? Infinity : fromMs + Math.round(hours * HOUR_MS) }
  })
  let nowMs = startMs - 1
  let active: typeof planned = []
  return {
    find<K extends FaultKind>(kind: K, target?: string) {
      if (active.length === 0) return undefined
      return active.find(({ fault }) => fault.kind === kind && concerns(fault, target))?.fault as FaultOf<K> | undefined
    },
    ageDays(fault, atMs) {
      const entry = planned.find((candidate) => candidate.fault === fault)
      return entry ? (atMs - entry.fromMs) / DAY_MS : 0
    },
    nextChangeMs: () =>
      Math.min(Infinity, ...planned.flatMap(({ fromMs, untilMs }) => [fromMs, untilMs]).filter((at) => at > nowMs)),
    moveTo(atMs) {
      const begun = planned.filter(({ fromMs }) => fromMs > nowMs && fromMs <= atMs).map(({ fault }) => fault)
      nowMs = atMs
      active = planned.filter(({ fromMs, untilMs }) => fromMs <= atMs && atMs < untilMs)
      return begun
    },
  }
}

function concerns(fault: Fault, target: string | undefined): boolean {
  if (target === undefined) return true
  if ('pump' in fault) return fault.pump === target
  if ('probe' in fault) return fault.probe === target
  if ('node' in fault) return fault.node === target
  return true
}
