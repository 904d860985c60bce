/**
 * One input at a time: ask `step`, send what only makes things safer at once, commit what must be kept, and only then
 * send a command. A commit that fails leaves the old state standing and stops all dosing. Anything thrown is a broken
 * invariant: all pumps stop, the ledger keeps what was thrown and a hold, and nothing is taken any more.
 */

import { LedgerFault } from '../ledger/ledger-fault.ts'
import type { Ledger, LedgerEntry } from '../ledger/port.ts'
import { toCommandMessage } from '../reservoir/command-message.ts'
import type { Effect } from '../reservoir/effect.ts'
import type { EdgeNews, Input } from '../reservoir/input.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import { encodeSnapshot } from '../reservoir/snapshot.ts'
import type { ReservoirSettings, ReservoirState } from '../reservoir/state.ts'
import { step } from '../reservoir/step.ts'
import type { PermittedShot } from '../safety/permitted-shot.ts'
import type { Clock } from './clock.ts'
import type { LeaseKeeper } from './lease.ts'
import type { NodeLink } from './node-link.ts'
import { faultRecords } from './program-fault.ts'

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

interface Waiting {
  readonly input: UnstampedInput
  readonly done: (effects: readonly Effect[] | undefined) => void
}

/** The loop of one reservoir. It alone writes to the ledger and alone sends commands. */
export class Loop {
  readonly #options: LoopOptions
  #state: ReservoirState
  #sequence: number
  #waiting: Waiting[] = []
  #isBusy = false
  #busySinceMs = 0
  #isStopped = false
  #isDiskWritable = true
  #snapshotAtMs = 0
  #dropped = 0

  constructor(options: LoopOptions) {
    this.#options = options
    this.#state = options.state
    this.#sequence = options.headSequence
  }

  /** as the last input that could be kept left it */
  get state(): ReservoirState {
    return this.#state
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
    if (!this.#isStopped && this.#isDiskWritable) await this.#keepSnapshot()
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
    const { ledger, reservoirId, term, clock } = this.#options
    try {
      const records = faultRecords(error, this.#state, clock.wallMs())
      await ledger.append(reservoirId, term, this.#sequence, records.map(toEntry))
    } catch (unwritten) {
      if (unwritten instanceof LedgerFault) this.#options.onFault(unwritten)
    }
    this.#options.onBroken(error)
  }

  async #handle(unstamped: UnstampedInput): Promise<readonly Effect[] | undefined> {
    const atMs = Math.max(this.#options.clock.wallMs(), this.#state.atMs)
    const { state, effects } = step(this.#options.settings, this.#state, { ...unstamped, atMs } as Input)
    this.#withdraw(effects)
    const records = effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : []))
    if (records.length > 0 && !(await this.#commit(records))) return undefined
    this.#state = state
    for (const effect of effects) this.#carryOut(effect, atMs)
    if (atMs - this.#snapshotAtMs >= SNAPSHOT_EVERY_MS && this.#isDiskWritable && records.length > 0)
      await this.#keepSnapshot()
    if (unstamped.kind === 'tick' && !this.#isDiskWritable && records.length === 0) await this.#tryDisk(atMs)
    return effects
  }

  /** While dosing waits for the disk nothing else may be due to be written, so that nobody would see it is well again. */
  async #tryDisk(atMs: number): Promise<void> {
    await this.#commit([{ kind: 'event', atMs, event: 'ledger-again', text: 'the ledger can be written again' }])
  }

  /** Needs no disk: it only makes things safer. */
  #withdraw(effects: readonly Effect[]): void {
    for (const effect of effects)
      if (effect.kind === 'lease' && !effect.allowed) this.#options.leases()?.withdraw(effect.node)
  }

  async #commit(records: readonly LedgerRecord[]): Promise<boolean> {
    const { ledger, reservoirId, term } = this.#options
    try {
      const head = await ledger.append(reservoirId, term, this.#sequence, records.map(toEntry))
      if (head === 'fenced') {
        this.#halt()
        this.#options.onFenced()
        return false
      }
      this.#sequence = head
      if (!this.#isDiskWritable) this.#tell({ edge: 'disk', writable: true })
      this.#isDiskWritable = true
      return true
    } catch (error) {
      if (!(error instanceof LedgerFault)) throw error
      this.#withdrawAll()
      if (this.#isDiskWritable) this.#options.onFault(error)
      this.#isDiskWritable = false
      this.#holdForDisk()
      return false
    }
  }

  /** The state that stands learns that nothing can be kept. What that would record must wait for a disk. */
  #holdForDisk(): void {
    const news: EdgeNews = { edge: 'disk', writable: false }
    const { state, effects } = step(this.#options.settings, this.#state, { kind: 'edge', atMs: this.#state.atMs, news })
    this.#state = { ...state, core: this.#state.core }
    for (const effect of effects)
      if (effect.kind === 'alarm' || (effect.kind === 'notification' && effect.notice))
        this.#options.onEffect(effect, this.#state.atMs)
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
    const { ledger, reservoirId, configurationHash } = this.#options
    const bytes = encodeSnapshot(this.#state, configurationHash)
    this.#snapshotAtMs = this.#state.atMs
    try {
      await ledger.putSnapshot(reservoirId, { sequence: this.#sequence, atMs: this.#state.atMs, bytes })
    } catch (error) {
      // A snapshot only makes a restart quicker; the records say everything.
      if (!(error instanceof LedgerFault)) throw error
      this.#options.onFault(error)
    }
  }
}

function toEntry(record: LedgerRecord): LedgerEntry {
  return { kind: record.kind, atMs: record.atMs, json: JSON.stringify(record) }
}
