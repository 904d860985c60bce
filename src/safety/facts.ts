import { DAY_MS, HOUR_MS, latestEndMs, type OpenCommand } from './book.ts'
import { type BottleFacts, bottleFacts, NO_FIGURES } from './bottle.ts'
import { type Caps, capsOf, missingSensors } from './caps.ts'
import { type ElementFacts, elementFacts } from './element-facts.ts'
import { switchHeldBecause } from './hold-switch.ts'
import { isComplete, type Limits, type ProbeLimits, type ProbeRole, type StockLimits, stockLimitsOf } from './limits.ts'
import { makeUpWithinL } from './make-up.ts'
import type { NodeState, RawReading, ReadingQuality, SafetyState, Sanitise } from './state.ts'
import { countedOf, lastEndMsOf, sumWithin, waitForAmountMs, waitForRoomMs, windowSums } from './sums.ts'
import type { Mode } from './types.ts'

/**
 * Everything an interlock may look at, worked out once for one stock at one moment. What is not known is NaN or null,
 * and no interlock holds on either.
 */
export interface Facts extends WaterFacts, NodeFacts, DoseFacts {
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

export interface ProbeFacts {
  readonly id: string
  readonly role: ProbeRole
  readonly value: number
  readonly quality: ReadingQuality | null
  readonly ageMs: number
  readonly sameForMs: number
  readonly min: number
  readonly max: number
  readonly stuckMs: number
}

export interface WaterFacts {
  readonly probes: readonly ProbeFacts[]
  readonly levelFitted: boolean
  readonly levelLowestL: number
  readonly levelHighestL: number
  readonly flowFitted: boolean
  readonly flowLowestLPerMin: number
  /** how long every flow probe has shown enough flow without a gap; NaN while one does not */
  readonly flowingForMs: number
  readonly phLowest: number
  readonly phHighest: number
  readonly phOldestAgeMs: number
}

interface NodeFacts {
  readonly node: string
  readonly pump: string
  readonly nodeOnline: boolean
  readonly contractKnown: boolean
  readonly boot: string | null
  readonly heartbeatAgeMs: number
  readonly nodeUptimeMs: number
  readonly nodeTerm: number
  readonly maxRunMs: number
  readonly totalRunMs: number
  readonly doubtMs: number
  readonly runningPump: string | null
}

interface DoseFacts extends BottleFacts {
  readonly rateUlPerS: number
  readonly caps: Caps
  readonly hourUl: number
  readonly dayUl: number
  /** since the last shot of this stock may have ended; Infinity where it never ran, negative while it may run */
  readonly sinceShotMs: number
  readonly gapMs: number
  readonly apart: readonly ApartFacts[]
  readonly openOfPump: string | null
  readonly openOfNode: string | null
  readonly isAcid: boolean
  readonly isBase: boolean
  readonly sinceAcidMs: number
  readonly sinceBaseMs: number
  /** acid of all acid stocks in the hour and the day */
  readonly acidHourUl: number
  readonly acidDayUl: number
  /** metered make-up water that came in the hour and the day, at least, L */
  readonly makeUpHourL: number
  readonly makeUpDayL: number
  /** the make-up counter as it was read last, L, and when; the record keeps it for the next start */
  readonly meterL: number
  readonly meterAtMs: number
  readonly elements: readonly ElementFacts[]
  readonly waitForAcidMs: (volumeUl: number, capUl: number, windowMs: number) => number | null
  /** how long until this much more fits under a cap in a window; null where it never fits */
  readonly waitForRoomMs: (volumeUl: number, capUl: number, windowMs: number) => number | null
}

export interface ApartFacts {
  readonly from: string
  readonly sinceMs: number
  readonly needMs: number
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
  water: WaterFacts = waterFacts(limits, state, question.atMs),
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
    trips: state.trips.length === 0 ? NO_TRIPS : state.trips.map((trip) => trip.trip),
    sanitising: state.sanitise?.phase ?? null,
    switchHeld: switchHeldBecause(limits, state.readings, atMs),
    linkUp: state.linkUp,
    diskWritable: state.diskWritable,
    clockSane: state.clockSane,
    limitsComplete: entry !== null && isComplete(limits, entry),
    missingSensors: missingSensors(limits),
    commandIdNew: commandId === undefined || isNewId(state, commandId),
    ...water,
    ...nodeFacts(state, entry, atMs),
    ...doseFacts(limits, state, entry, atMs),
  }
}

const NO_TRIPS: readonly string[] = []

/** What the probes say now; the same for every stock. */
export function waterFacts(limits: Limits, state: SafetyState, atMs: number): WaterFacts {
  let levelFitted = false
  let levelLowestL = Number.POSITIVE_INFINITY
  let levelHighestL = Number.NEGATIVE_INFINITY
  let flowFitted = false
  let flowLowestLPerMin = Number.POSITIVE_INFINITY
  let flowingForMs = Number.POSITIVE_INFINITY
  let phLowest = Number.POSITIVE_INFINITY
  let phHighest = Number.NEGATIVE_INFINITY
  let phOldestAgeMs = Number.NEGATIVE_INFINITY
  const probes = limits.probes.map((probe) => {
    const reading = state.readings[probe.id]
    const facts = probeFacts(limits, probe, reading, atMs)
    if (probe.role === 'level') {
      levelFitted = true
      levelLowestL = Math.min(levelLowestL, facts.value)
      levelHighestL = Math.max(levelHighestL, facts.value)
    } else if (probe.role === 'flow') {
      flowFitted = true
      flowLowestLPerMin = Math.min(flowLowestLPerMin, facts.value)
      flowingForMs = Math.min(flowingForMs, atMs - (reading?.flowingSinceMs ?? Number.NaN))
    } else if (probe.role === 'ph') {
      phLowest = Math.min(phLowest, facts.value)
      phHighest = Math.max(phHighest, facts.value)
      phOldestAgeMs = Math.max(phOldestAgeMs, facts.ageMs)
    }
    return facts
  })
  const level = { levelFitted, levelLowestL, levelHighestL }
  return { probes, ...level, flowFitted, flowLowestLPerMin, flowingForMs, phLowest, phHighest, phOldestAgeMs }
}

/** A probe for which nothing moves while all is well, so that sameness says nothing: a meter, a steady pump, a switch. */
const MAY_STAND_STILL: readonly ProbeRole[] = ['flow', 'top-up', 'hold-switch']

function probeFacts(limits: Limits, probe: ProbeLimits, reading: RawReading | undefined, atMs: number): ProbeFacts {
  const standsStill = MAY_STAND_STILL.includes(probe.role) ? Number.POSITIVE_INFINITY : limits.stuckMs
  return {
    id: probe.id,
    role: probe.role,
    value: reading?.value ?? Number.NaN,
    quality: reading?.quality ?? null,
    ageMs: reading === undefined ? Number.NaN : atMs - reading.atMs,
    sameForMs: reading === undefined ? Number.NaN : reading.atMs - reading.sameSinceMs,
    min: probe.min,
    max: probe.max,
    stuckMs: probe.stuckMs ?? standsStill,
  }
}

function nodeFacts(state: SafetyState, entry: StockLimits | null, atMs: number): NodeFacts {
  const node: NodeState | undefined = entry === null ? undefined : state.nodes[entry.node]
  const pump = entry === null ? undefined : node?.pumps[entry.pump]
  const heartbeat = node?.heartbeat ?? null
  return {
    node: entry?.node ?? '',
    pump: entry?.pump ?? '',
    nodeOnline: node?.online ?? false,
    contractKnown: node?.contractKnown ?? false,
    boot: node?.boot ?? null,
    heartbeatAgeMs: heartbeat === null ? Number.NaN : atMs - heartbeat.atMs,
    nodeUptimeMs: heartbeat === null ? Number.NaN : heartbeat.uptimeMs + atMs - heartbeat.atMs,
    nodeTerm: heartbeat?.term ?? Number.NaN,
    maxRunMs: pump?.maxRunMs ?? Number.NaN,
    totalRunMs: pump?.totalRunMs ?? Number.NaN,
    doubtMs: pump?.doubtMs ?? Number.NaN,
    runningPump: node === undefined ? null : runningPumpOf(node),
  }
}

function runningPumpOf(node: NodeState): string | null {
  for (const id in node.pumps) if (node.pumps[id]?.runningId != null) return id
  return null
}

function doseFacts(limits: Limits, state: SafetyState, entry: StockLimits | null, atMs: number): DoseFacts {
  if (entry === null) return NO_DOSE
  const { book } = state
  const ofPump = (open: OpenCommand) => open.node === entry.node && open.pump === entry.pump
  // A start calls a command unknown at once; until its last moment is past it may still be on its way.
  const mayCome = (open: OpenCommand) => open.status === 'open' || !(atMs > latestEndMs(limits, open))
  const ofNode = (open: OpenCommand) => open.node === entry.node && mayCome(open)
  return {
    rateUlPerS: state.ratesUlPerS[entry.stock] ?? entry.rateUlPerS,
    caps: capsOf(limits, entry),
    ...windowSums(limits, book, entry.stock, atMs),
    sinceShotMs: atMs - lastEndMsOf(limits, book, entry.stock),
    gapMs: entry.gapMs,
    apart: apartFacts(limits, state, entry, atMs),
    openOfPump: book.commands.find(ofPump)?.commandId ?? null,
    openOfNode: book.commands.find(ofNode)?.commandId ?? null,
    ...bottleFacts(state, entry),
    isAcid: entry.acid === true,
    isBase: entry.base === true,
    sinceAcidMs: sinceAnyMs(limits, state, atMs, (other) => other.acid === true),
    sinceBaseMs: sinceAnyMs(limits, state, atMs, (other) => other.base === true),
    ...acidFacts(limits, state, entry, atMs),
    elements: elementFacts(limits, book, entry, atMs),
    waitForRoomMs: (volumeUl, capUl, windowMs) =>
      waitForRoomMs(limits, book, { stock: entry.stock, atMs, volumeUl, capUl, windowMs }),
  }
}

/** A stock without limits: no number to hold on to. */
const NO_DOSE: DoseFacts = {
  rateUlPerS: Number.NaN,
  caps: { shotMaxUl: Number.NaN, hourMaxUl: Number.NaN, dayMaxUl: Number.NaN },
  hourUl: Number.NaN,
  dayUl: Number.NaN,
  sinceShotMs: Number.NaN,
  gapMs: Number.NaN,
  bottleChecked: true,
  ...NO_FIGURES,
  apart: [],
  openOfPump: null,
  openOfNode: null,
  isAcid: false,
  isBase: false,
  sinceAcidMs: Number.NaN,
  sinceBaseMs: Number.NaN,
  acidHourUl: Number.NaN,
  acidDayUl: Number.NaN,
  makeUpHourL: Number.NaN,
  makeUpDayL: Number.NaN,
  meterL: Number.NaN,
  meterAtMs: Number.NaN,
  elements: [],
  waitForAcidMs: () => null,
  waitForRoomMs: () => null,
}

/** Every stock that this one declares, and every stock that declares this one; the longer wait counts. */
function apartFacts(limits: Limits, state: SafetyState, entry: StockLimits, atMs: number): ApartFacts[] {
  const found: ApartFacts[] = []
  for (const other of limits.stocks) {
    let needMs = Number.NEGATIVE_INFINITY
    for (const apart of entry.apart) if (apart.from === other.stock) needMs = Math.max(needMs, apart.ms)
    for (const apart of other.apart) if (apart.from === entry.stock) needMs = Math.max(needMs, apart.ms)
    if (needMs === Number.NEGATIVE_INFINITY) continue
    found.push({ from: other.stock, sinceMs: atMs - lastEndMsOf(limits, state.book, other.stock), needMs })
  }
  return found
}

/** Sums over all acid stocks; for any other stock nobody looks at them. */
function acidFacts(limits: Limits, state: SafetyState, entry: StockLimits, atMs: number) {
  const acids = entry.acid === true ? limits.stocks.filter((other) => other.acid === true) : []
  const counted = acids.flatMap((acid) => countedOf(limits, state.book, acid.stock))
  return {
    acidHourUl: sumWithin(counted, atMs, HOUR_MS),
    acidDayUl: sumWithin(counted, atMs, DAY_MS),
    makeUpHourL: makeUpWithinL(state.makeUp, atMs, HOUR_MS),
    makeUpDayL: makeUpWithinL(state.makeUp, atMs, DAY_MS),
    meterL: state.makeUp.last?.counterL ?? Number.NaN,
    meterAtMs: state.makeUp.last?.atMs ?? Number.NaN,
    waitForAcidMs: (volumeUl: number, cap: number, windowMs: number) =>
      waitForAmountMs(counted, { atMs, amount: volumeUl, cap, windowMs }),
  }
}

function sinceAnyMs(limits: Limits, state: SafetyState, atMs: number, isOne: (entry: StockLimits) => boolean): number {
  let sinceMs = Number.POSITIVE_INFINITY
  for (const entry of limits.stocks) {
    if (isOne(entry)) sinceMs = Math.min(sinceMs, atMs - lastEndMsOf(limits, state.book, entry.stock))
  }
  return sinceMs
}

function isNewId(state: SafetyState, commandId: string): boolean {
  if (commandId === '' || state.book.commands.some((open) => open.commandId === commandId)) return false
  return !Object.values(state.book.stocks).some((stock) => stock.rows.some((row) => row.commandId === commandId))
}
