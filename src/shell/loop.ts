/**
 * One input at a time: ask `step`, send what only makes things safer at once, commit what must be kept, and only then
 * send a command. While commits fail the loop goes on sensing and raising alarms, doses nothing, and keeps what it
 * could not write until it can; then it starts again as after a restart. Anything thrown is a broken invariant: all
 * pumps stop, the ledger keeps what was thrown and a hold, and nothing is taken any more.
 */

import { LedgerFault } from '../ledger/ledger-fault.ts'
import type { Ledger } from '../ledger/port.ts'
import { toCommandMessage } from '../reservoir/command-message.ts'
import type { Effect } from '../reservoir/effect.ts'
import type { EdgeNews, Input, Instruction, StartInput } from '../reservoir/input.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import type { ReservoirSettings, ReservoirState } from '../reservoir/state.ts'
import { type Stepped, step } from '../reservoir/step.ts'
import type { PermittedShot } from '../safety/permitted-shot.ts'
import type { Clock } from './clock.ts'
import type { LeaseKeeper } from './lease.ts'
import type { NodeLink } from './node-link.ts'
import { faultRecords } from './program-fault.ts'
import { RecordKeeper } from './record-keeper.ts'

/** What an input lacks until the loop stamps it. */
export type UnstampedInput = Input extends infer One ? (One extends Input ? Omit<One, 'atMs'> : never) : never

export interface LoopOptions {
  readonly settings: ReservoirSettings
  readonly configurationHash: string
  readonly state: ReservoirState
  readonly reservoirId: string
  readonly term: number
  readonly ledger: Ledger
  readonly headSequence: number
  readonly clock: Clock
  readonly link: Pick<NodeLink, 'sendCommand'>
  /** set once the loop exists, since leases ask whether the loop is healthy */
  readonly leases: () => LeaseKeeper | undefined
  readonly onEffect: (effect: Effect, atMs: number) => void
  /** the ledger can be written again: a start under a newer term. @throws LedgerFault where it cannot after all */
  readonly startAgain: () => Promise<Omit<StartInput, 'kind' | 'atMs'>>
  /** that start was kept: nodes must be heard anew */
  readonly onStartedAgain: () => void
  /** the ledger belongs to another daemon now: nothing can be done here any more */
  readonly onFenced: () => void
  readonly onFault: (fault: LedgerFault) => void
  /** an invariant is broken: pumps are stopped, the ledger was told, and the process should end */
  readonly onBroken: (error: unknown) => void
}

/** Inputs that may wait; a bench of one node makes some 20 a minute, so this is hours of a ledger that hangs. Chosen. */
const QUEUE_MAX = 5000
/** Dropped where too many wait: the next one of its kind says it again. Reports and people’s words are never dropped. */
const DROPPABLE: ReadonlySet<Input['kind']> = new Set(['scan', 'heartbeat', 'tick'])
/** So that a restart folds at most this much again; chosen. */
const SNAPSHOT_EVERY_MS = 6 * 3_600_000

/** Words that hold or quieten even while the ledger cannot keep them. */
export const HEARD_ANYWAY: ReadonlySet<Instruction['instruction']> = new Set(['hold', 'acknowledge'])

interface Waiting {
  readonly input: UnstampedInput
  readonly done: (effects: readonly Effect[] | undefined) => void
}

/** The loop of one reservoir. It alone writes to the ledger and alone sends commands. */
export class Loop {
  readonly #options: LoopOptions
  readonly #keeper: RecordKeeper
  #state: ReservoirState
  #waiting: Waiting[] = []
  #isBusy = false
  #busySinceMs = 0
  #isStopped = false
  /** false from the first write that failed until everything is written and there is room again */
  #isKeeping = true
  #unkeptSinceMs = 0
  #snapshotAtMs = 0
  #dropped = 0

  constructor(options: LoopOptions) {
    this.#options = options
    this.#keeper = new RecordKeeper(options)
    this.#state = options.state
  }

  /** as the last input left it; while the disk takes nothing, what led to it waits to be written */
  get state(): ReservoirState {
    return this.#state
  }

  /** the term that records and leases go under */
  get term(): number {
    return this.#keeper.term
  }

  /** everything is written and there is room for more */
  get isKeeping(): boolean {
    return this.#isKeeping
  }

  /** inputs that were not taken because too many waited */
  get dropped(): number {
    return this.#dropped
  }

  /** nothing is taken any more: stopped, fenced or broken */
  get isStopped(): boolean {
    return this.#isStopped
  }

  /** How long the input in hand has been in hand, ms; 0 while idle. */
  busyForMs(): number {
    return this.#isBusy ? this.#options.clock.monoMs() - this.#busySinceMs : 0
  }

  /**
   * Takes an input when those before it are done.
   *
   * @returns whether it was taken: false where its records could not be kept, or the loop has stopped
   */
  async take(input: UnstampedInput): Promise<boolean> {
    return (await this.ask(input)) !== undefined
  }

  /** The same, and what came of it: its effects, all kept; undefined where it was not taken. */
  ask(input: UnstampedInput): Promise<readonly Effect[] | undefined> {
    if (this.#isStopped) return Promise.resolve(undefined)
    if (this.#waiting.length >= QUEUE_MAX && DROPPABLE.has(input.kind)) {
      this.#dropped++
      return Promise.resolve(undefined)
    }
    return new Promise((done) => {
      this.#waiting.push({ input, done })
      if (!this.#isBusy) void this.#work()
    })
  }

  /** Resolves when nothing waits any more. */
  async idle(): Promise<void> {
    while (this.#isBusy) await new Promise((done) => setImmediate(done))
  }

  /** Finishes what waits, keeps a snapshot and takes nothing more. */
  async stop(): Promise<void> {
    await this.idle()
    if (!this.#isStopped && this.#isKeeping) await this.#keepSnapshot()
    else if (!this.#isStopped) await this.#keeper.keep([])
    this.#isStopped = true
  }

  /**
   * What was thrown at an edge breaks the loop’s promises as well: every lease is withdrawn at once, the input in hand
   * sends no command any more, and the ledger keeps the fault and a hold. Does nothing once the loop has stopped.
   */
  async fail(error: unknown): Promise<void> {
    if (this.#isStopped) return
    this.#halt()
    await this.idle()
    await this.#tellBroken(error)
  }

  async #work(): Promise<void> {
    this.#isBusy = true
    for (let next = this.#waiting.shift(); next; next = this.#waiting.shift()) {
      this.#busySinceMs = this.#options.clock.monoMs()
      next.done(this.#isStopped ? undefined : await this.#handleOrBreak(next.input))
    }
    this.#isBusy = false
  }

  async #handleOrBreak(input: UnstampedInput): Promise<readonly Effect[] | undefined> {
    try {
      return await this.#handle(input)
    } catch (error) {
      this.#halt()
      await this.#tellBroken(error)
      return undefined
    }
  }

  #halt(): void {
    this.#isStopped = true
    this.#withdrawAll()
  }

  /** So that the next start is held. What cannot be written must not hide what broke. */
  async #tellBroken(error: unknown): Promise<void> {
    try {
      const kept = await this.#keeper.keep(faultRecords(error, this.#state, this.#options.clock.wallMs()))
      if (kept.kind === 'unkept') this.#options.onFault(kept.fault)
    } catch {
      // the ledger is broken as well; what broke first is what people must hear
    }
    this.#options.onBroken(error)
  }

  async #handle(unstamped: UnstampedInput): Promise<readonly Effect[] | undefined> {
    const atMs = Math.max(this.#options.clock.wallMs(), this.#state.atMs)
    const input = { ...unstamped, atMs } as Input
    if (input.kind === 'start' && this.#isKeeping && !(await this.#keeper.hasReserve())) this.#stopKeeping()
    if (!this.#isKeeping) return this.#goOn(input)
    const stepped = step(this.#options.settings, this.#state, input)
    this.#withdraw(stepped.effects)
    const records = recordsOf(stepped)
    if (!(await this.#keep(records))) return this.#isStopped ? undefined : this.#goOn(input)
    this.#state = stepped.state
    for (const effect of stepped.effects) this.#carryOut(effect, atMs)
    if (atMs - this.#snapshotAtMs >= SNAPSHOT_EVERY_MS && records.length > 0) await this.#keepSnapshot()
    return stepped.effects
  }

  /**
   * An input while nothing can be dosed for want of a record. Its records wait where the disk does not take them, but
   * a person’s word is not taken then: it would be forgotten by a restart. Only what makes things safer or quieter is
   * heard all the same, and answered like the others.
   */
  async #goOn(input: Input): Promise<readonly Effect[] | undefined> {
    const stepped = step(this.#options.settings, this.#state, input)
    const records = recordsOf(stepped)
    const isKept = (records.length === 0 && input.kind !== 'tick') || (await this.#keep(records))
    if (this.#isStopped) return undefined
    if (!isKept && (isForgettable(input) || !this.#keeper.hold(records))) return undefined
    this.#withdraw(stepped.effects)
    this.#state = stepped.state
    for (const effect of stepped.effects) this.#tellOnly(effect)
    if (input.kind === 'tick' && isKept) await this.#tryAgain()
    return isKept ? stepped.effects : undefined
  }

  /** While nothing can be written the gate permits nothing, or it is broken. */
  #tellOnly(effect: Effect): void {
    if (effect.kind === 'command' || (effect.kind === 'lease' && effect.allowed))
      throw new Error(`a ${effect.kind} came out of a state that says that nothing can be written`)
    this.#options.onEffect(effect, this.#state.atMs)
  }

  /** Once all is written and there is room: goes on as after a restart, so that no dose follows from an old promise. */
  async #tryAgain(): Promise<void> {
    if (!(await this.#keeper.hasReserve())) return
    const { atMs } = this.#state
    const start = await this.#newTerm()
    if (!start) return
    this.#keeper.renew(start.term)
    const started = step(this.#options.settings, this.#state, { kind: 'start', atMs, ...start })
    const news: EdgeNews = { edge: 'disk', writable: true }
    const opened = step(this.#options.settings, started.state, { kind: 'edge', atMs, news })
    const text = `The ledger could not be written since ${new Date(this.#unkeptSinceMs).toISOString()}. It can again, and nothing was dosed meanwhile.`
    const told: LedgerRecord = { kind: 'event', atMs, event: 'ledger-again', text }
    if (!(await this.#keep([told, ...recordsOf(started), ...recordsOf(opened)]))) return
    this.#state = opened.state
    this.#isKeeping = true
    this.#options.onEffect({ kind: 'notification', event: 'ledger-again', text }, atMs)
    for (const effect of [...started.effects, ...opened.effects]) this.#carryOut(effect, atMs)
    this.#options.onStartedAgain()
  }

  async #newTerm(): Promise<Omit<StartInput, 'kind' | 'atMs'> | undefined> {
    try {
      return await this.#options.startAgain()
    } catch (error) {
      if (!(error instanceof LedgerFault)) throw error
      return undefined
    }
  }

  /** Needs no disk: it only makes things safer. */
  #withdraw(effects: readonly Effect[]): void {
    for (const effect of effects)
      if (effect.kind === 'lease' && !effect.allowed) this.#options.leases()?.withdraw(effect.node)
  }

  async #keep(records: readonly LedgerRecord[]): Promise<boolean> {
    const kept = await this.#keeper.keep(records)
    if (kept.kind === 'fenced') {
      this.#halt()
      this.#options.onFenced()
    }
    if (kept.kind === 'unkept' && this.#isKeeping) {
      this.#options.onFault(kept.fault)
      this.#stopKeeping()
    }
    return kept.kind === 'kept'
  }

  /** The state that stands learns that nothing can be kept, and people with it. */
  #stopKeeping(): void {
    const { atMs } = this.#state
    this.#withdrawAll()
    this.#isKeeping = false
    this.#unkeptSinceMs = atMs
    const news: EdgeNews = { edge: 'disk', writable: false }
    const stepped = step(this.#options.settings, this.#state, { kind: 'edge', atMs, news })
    this.#state = stepped.state
    this.#keeper.hold(recordsOf(stepped))
    for (const effect of stepped.effects) this.#tellOnly(effect)
  }

  #withdrawAll(): void {
    for (const node of Object.keys(this.#state.safety.nodes)) this.#options.leases()?.withdraw(node)
  }

  #carryOut(effect: Effect, atMs: number): void {
    this.#options.onEffect(effect, atMs)
    // Halted while the commit was under way: what was permitted stays unsent, and the next start calls it unknown.
    if (this.#isStopped) return
    if (effect.kind === 'lease' && effect.allowed) this.#options.leases()?.allow(effect.node)
    if (effect.kind === 'command') void this.#send(effect.shot).catch((error: unknown) => this.fail(error))
  }

  async #send(shot: PermittedShot): Promise<void> {
    const fate = await this.#options.link.sendCommand(shot.node, shot.pump, toCommandMessage(shot))
    const commandId = shot.id
    this.#tell(
      fate === 'sent'
        ? { edge: 'command-sent', commandId }
        : { edge: 'command-not-sent', commandId, why: 'the link was down' },
    )
  }

  #tell(news: EdgeNews): void {
    void this.take({ kind: 'edge', news })
  }

  async #keepSnapshot(): Promise<void> {
    this.#snapshotAtMs = this.#state.atMs
    const fault = await this.#keeper.putSnapshot(this.#state, this.#options.configurationHash)
    if (fault === undefined) return
    this.#options.onFault(fault)
    // What was kept in reserve went with it, so the next write would eat into the trip’s own room.
    if (!(await this.#keeper.hasReserve())) this.#stopKeeping()
  }
}

/** What a restart would forget if it were answered now, and somebody relied on the answer. */
function isForgettable(input: Input): boolean {
  if (input.kind === 'instruction') return !HEARD_ANYWAY.has(input.instruction.instruction)
  return WORDS.has(input.kind)
}

const WORDS: ReadonlySet<Input['kind']> = new Set([
  'laboratory-result',
  'laboratory-withdrawal',
  'laboratory-decision',
  'spot-reading',
  'act',
])

function recordsOf({ effects }: Stepped): readonly LedgerRecord[] {
  return effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : []))
}
