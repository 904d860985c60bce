import { type Book, EMPTY_BOOK } from './book.ts'
import type { Bottle } from './bottle.ts'
import type { EffectBin, StockEffectState } from './effect-state.ts'
import { switchHeldBecause } from './hold-switch.ts'
import type { Limits } from './limits.ts'
import { type MakeUp, NO_MAKE_UP } from './make-up.ts'
import type { Mode } from './types.ts'

/** Everything safety knows, as plain data. It shares nothing with the core. */
export interface SafetyState {
  /** false until a start with a term higher than any before */
  readonly started: boolean
  readonly controller: string | null
  readonly term: number | null
  readonly mode: Mode
  readonly held: Hold | null
  readonly trips: readonly Trip[]
  /** from the begin of sanitising until the rinse and the probe check after it are logged */
  readonly sanitise: Sanitise | null
  /** why the switch at the reservoir counts as held; null where it is not, or where there is none */
  readonly switchHeld: string | null
  readonly approved: Approval | null
  /** who approved the ration beforehand, and when; outlives a restart. Absent in a state from before rations */
  readonly ration?: Ration | null
  /** latest raw reading, by probe */
  readonly readings: Readonly<Record<string, RawReading>>
  readonly nodes: Readonly<Record<string, NodeState>>
  /** measured pump rates, by stock, where a person gave one */
  readonly ratesUlPerS: Readonly<Record<string, number>>
  readonly linkUp: boolean
  readonly diskWritable: boolean
  readonly clockSane: boolean
  readonly book: Book
  /** since its last refill, by stock; one that was never drawn from is full */
  readonly bottles: Readonly<Record<string, Bottle>>
  /** make-up water by its counter; lets acid in, so it is rebuilt from the figures of verdicts like the book */
  readonly makeUp: MakeUp
  /** raw conductivity of the last hours, two minutes each, oldest first; kept only where effects are checked */
  readonly effectBins: readonly EffectBin[]
  /** no reading before it is evidence of an effect: somebody let solution go or put salt in */
  readonly effectQuietUntilMs: number
  /** how far the effect of each stock is proven; one without an entry was never drawn from */
  readonly effects: Readonly<Record<string, StockEffectState>>
}

/** Where sanitising stands. `sinceMs` is the moment from which the next act counts. */
export interface Sanitise {
  readonly phase: 'sanitising' | 'to-rinse' | 'to-check'
  readonly sinceMs: number
}

interface Hold {
  readonly by: string
  readonly reason: string
  readonly atMs: number
}

/** An interlock that latched. `subject` says what it is about, so that two pumps are two trips. */
export interface Trip {
  readonly trip: string
  readonly subject: string
  readonly why: string
  readonly atMs: number
}

export interface Ration {
  readonly by: string
  readonly atMs: number
}

interface Approval {
  readonly planId: string
  readonly by: string
  readonly atMs: number
}

export type ReadingQuality = 'good' | 'uncertain' | 'bad'

export interface RawReading {
  /** in the inside unit of the probe’s role */
  readonly value: number
  readonly quality: ReadingQuality
  readonly atMs: number
  /** since when the very same value is shown */
  readonly sameSinceMs: number
  /** since when the value is without a gap at or above the least flow; only for flow, else null */
  readonly flowingSinceMs: number | null
}

export interface NodeState {
  readonly online: boolean
  readonly contractKnown: boolean
  readonly boot: string | null
  /** boots before this one, newest first, so that late messages of an old boot are known as late */
  readonly pastBoots: readonly string[]
  /** the node’s own clock as last heard on this boot, and when */
  readonly heartbeat: { readonly uptimeMs: number; readonly atMs: number; readonly term: number } | null
  readonly pumps: Readonly<Record<string, PumpState>>
  readonly lease: { readonly allowed: boolean; readonly why: string }
}

export interface PumpState {
  readonly maxRunMs: number | null
  readonly group: string | null
  /** totaliser as last heard or recorded, with the moment of the node’s clock where it is known */
  readonly totalRunMs: number | null
  readonly doubtMs: number | null
  readonly boot: string | null
  readonly uptimeMs: number
  readonly runningId: string | null
  /** the totals as told last, also while a command waits to be settled by them; absent in a state from before */
  readonly heard?: HeardTotals | null
}

export interface HeardTotals {
  readonly boot: string
  readonly totalRunMs: number
  readonly doubtMs: number
}

export const NEW_PUMP: PumpState = {
  maxRunMs: null,
  group: null,
  totalRunMs: null,
  doubtMs: null,
  boot: null,
  uptimeMs: 0,
  runningId: null,
  heard: null,
}

const NEW_NODE: NodeState = {
  online: false,
  contractKnown: false,
  boot: null,
  pastBoots: [],
  heartbeat: null,
  pumps: {},
  lease: { allowed: false, why: 'not started' },
}

/** A site that was never started: the limits’ mode, an empty book, nothing heard from any node. */
export function initialSafetyState(limits: Limits): SafetyState {
  const names = new Set([...limits.probes, ...limits.stocks].map((entry) => entry.node))
  return {
    started: false,
    controller: null,
    term: null,
    mode: limits.mode,
    held: null,
    trips: [],
    sanitise: null,
    switchHeld: switchHeldBecause(limits, {}, 0),
    approved: null,
    ration: null,
    readings: {},
    nodes: Object.fromEntries([...names].sort().map((name) => [name, NEW_NODE])),
    ratesUlPerS: {},
    linkUp: true,
    diskWritable: true,
    clockSane: true,
    book: EMPTY_BOOK,
    bottles: {},
    makeUp: NO_MAKE_UP,
    effectBins: [],
    effectQuietUntilMs: 0,
    effects: {},
  }
}

/** A node that the limits know. Names come over the wire, and every object inherits some of its own (`constructor`). */
export function nodeNamed(state: SafetyState, name: string): NodeState | undefined {
  return Object.hasOwn(state.nodes, name) ? state.nodes[name] : undefined
}

/** A pump of a node, or undefined where either is not known. */
export function pumpNamed(state: SafetyState, name: string, pump: string): PumpState | undefined {
  return nodeNamed(state, name)?.pumps[pump]
}

/** The state with one node changed. The node must be known. */
export function withNode(state: SafetyState, name: string, change: Partial<NodeState>): SafetyState {
  return { ...state, nodes: { ...state.nodes, [name]: { ...knownNode(state, name), ...change } } }
}

/** A node that is to change, and so must be known. */
export function knownNode(state: SafetyState, name: string): NodeState {
  const node = nodeNamed(state, name)
  if (node === undefined) throw new Error(`node ${name} is not in the limits, so it cannot change`)
  return node
}

/** The state with one pump of a known node changed; a pump not heard of before begins unknown. */
export function withPump(state: SafetyState, name: string, pump: string, change: Partial<PumpState>): SafetyState {
  const pumps = nodeNamed(state, name)?.pumps ?? {}
  return withNode(state, name, { pumps: { ...pumps, [pump]: { ...(pumps[pump] ?? NEW_PUMP), ...change } } })
}
