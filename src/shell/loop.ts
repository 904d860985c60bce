/**
 * One input at a time: ask `step`, send what only makes things safer at once, commit what must be kept, and only then
 * send a command. While commits fail the loop goes on sensing and raising alarms, doses nothing, and keeps what it
 * could not write until it can; then it starts again as after a restart. While an append hangs a stand-in hears for it,
 * and what was said too long ago is not taken for news when the disk answers. Anything thrown is a broken invariant: all
 * pumps stop, the ledger keeps what was thrown and a hold, and nothing is taken any more.
 */

import { LedgerFault } from '../ledger/ledger-fault.ts'
import { toCommandMessage } from '../reservoir/command-message.ts'
import type { Effect } from '../reservoir/effect.ts'
import type { EdgeNews, Input, StartInput } from '../reservoir/input.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import { step } from '../reservoir/step.ts'
import type { PermittedShot } from '../safety/permitted-shot.ts'
import { DROPPABLE, isForgettable, isHold, stamped, type UnstampedInput } from './loop-input.ts'
import { HANGS_AFTER_MS, type LoopOptions } from './loop-options.ts'
import { faultRecords } from './program-fault.ts'
import { RecordKeeper, recordsOf } from './record-keeper.ts'
import { StandIn } from './stand-in.ts'

/** Inputs that may wait; a bench of one node makes some 20 a minute, so this is hours of a ledger that hangs. Chosen. */
const QUEUE_MAX = 5000
/** So that a restart folds at most this much again; chosen. */
const SNAPSHOT_EVERY_MS = 6 * 3_600_000

interface Waiting {
  readonly input: UnstampedInput
  /** by the clock that never steps */
  readonly sinceMonoMs: number
  readonly done: (effects: readonly Effect[] | undefined) => void
}

/** The loop of one reservoir. It alone writes to the ledger and alone sends commands. */
export class Loop {
  readonly #options: LoopOptions
  readonly #keeper: RecordKeeper
  #state: ReservoirState
  #waiting: Waiting[] = []
  #inHand: Waiting | undefined
  #isBusy = false
  #busySinceMs = 0
  #isStopped = false
  /** false from the first write that failed until everything is written and there is room again */
  #isKeeping = true
  #unkeptSinceMs = 0
  #snapshotAtMs = 0
  #dropped = 0
  #standIn: StandIn | undefined
  #hungForMs = 0
  /** the input in hand was kept so late that what it permits is permitted no more */
  #isLate = false

  constructor(options: LoopOptions) {
    this.#options = options
    this.#keeper = new RecordKeeper(options)
    this.#state = options.state
  }

  /** as the last input left it; while the disk takes nothing, what led to it waits to be written or is only heard */
  get state(): ReservoirState {
    return this.#standIn?.state ?? this.#state
  }

  /** the term that records and leases go under */
  get term(): number {
    return this.#keeper.term
  }

  /** everything is written and there is room for more */
  get isKeeping(): boolean {
    return this.#isKeeping && !this.#standIn
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
    if (isHold(input)) this.#options.leases()?.pause()
    if (this.#hangs()) return this.#askStandIn(input)
    if (this.#waiting.length >= QUEUE_MAX && DROPPABLE.has(input.kind)) {
      this.#dropped++
      return Promise.resolve(undefined)
    }
    return this.#queue(input)
  }

  #queue(input: UnstampedInput): Promise<readonly Effect[] | undefined> {
    return new Promise((done) => {
      this.#waiting.push({ input, sinceMonoMs: this.#options.clock.monoMs(), done })
      if (!this.#isBusy) void this.#work()
    })
  }

  #hangs(): boolean {
    return this.busyForMs() > (this.#options.hangsAfterMs ?? HANGS_AFTER_MS)
  }

  /**
   * While an append hangs. Readings are heard and forgotten, since the next one says it again; a person’s word that a
   * restart would forget is not taken; everything else waits as well, and a hold is answered without waiting.
   */
  #askStandIn(input: UnstampedInput): Promise<readonly Effect[] | undefined> {
    if (isForgettable(input)) return Promise.resolve(undefined)
    try {
      this.#standIn ??= this.#newStandIn()
      this.#standIn.hear(input, this.#options.clock.wallMs())
    } catch (error) {
      void this.fail(error)
      return Promise.resolve(undefined)
    }
    if (DROPPABLE.has(input.kind)) return Promise.resolve(undefined)
    const kept = this.#queue(input)
    return input.kind === 'instruction' ? Promise.resolve(undefined) : kept
  }

  /** It hears first what the disk keeps waiting. */
  #newStandIn(): StandIn {
    const { settings, clock, onEffect } = this.#options
    const standIn = new StandIn(settings, this.#state, onEffect)
    standIn.hear({ kind: 'edge', news: { edge: 'disk', writable: false } }, clock.wallMs())
    for (const { input, done } of [this.#inHand, ...this.#waiting].filter((one) => one !== undefined)) {
      if (isForgettable(input)) continue
      standIn.hear(input, clock.wallMs())
      if (input.kind === 'instruction') done(undefined)
    }
    return standIn
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
      if (this.#isOld(next)) next.done(undefined)
      else await this.#workOn(next)
    }
    this.#isBusy = false
  }

  async #workOn(waiting: Waiting): Promise<void> {
    const { input, done } = waiting
    this.#inHand = waiting
    this.#busySinceMs = this.#options.clock.monoMs()
    this.#isLate = false
    done(this.#isStopped ? undefined : await this.#handleOrBreak(input))
    this.#inHand = undefined
    if (this.#hungForMs > 0) await this.#tellHung()
  }

  /** An input is stamped when it is taken, so a reading that has waited would pass for a fresh one. */
  #isOld({ input, sinceMonoMs }: Waiting): boolean {
    const waitedMs = this.#options.clock.monoMs() - sinceMonoMs
    return DROPPABLE.has(input.kind) && waitedMs > (this.#options.hangsAfterMs ?? HANGS_AFTER_MS)
  }

  /** The disk has answered, whatever it said: from now on the loop hears for itself again. */
  #diskAnswered(): void {
    const nowMs = this.#options.clock.monoMs()
    this.#isLate = this.#hangs()
    if (this.#standIn) this.#hungForMs = nowMs - this.#busySinceMs
    this.#standIn = undefined
    this.#busySinceMs = nowMs
  }

  async #tellHung(): Promise<void> {
    const text = `The ledger’s disk gave no answer for ${(this.#hungForMs / 1000).toFixed(0)} s. It does again, and nothing was dosed meanwhile.`
    this.#hungForMs = 0
    // A disk that refuses after all is told by itself.
    if (this.#isStopped || !this.#isKeeping) return
    const { atMs } = this.#state
    if (await this.#keep([{ kind: 'event', atMs, event: 'ledger-again', text }]))
      this.#options.onEffect({ kind: 'notification', event: 'ledger-again', text }, atMs)
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
    const input = stamped(unstamped, this.#options.clock.wallMs(), this.#state)
    const { atMs } = input
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
    this.#diskAnswered()
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
    if (effect.kind !== 'command') return
    // Permitted by what was true before the disk hung.
    if (this.#isLate) return this.#tell({ edge: 'command-not-sent', commandId: effect.shot.id, why: TOO_LATE })
    void this.#send(effect.shot).catch((error: unknown) => this.fail(error))
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
    this.#diskAnswered()
    if (fault === undefined) return
    this.#options.onFault(fault)
    // What was kept in reserve went with it, so the next write would eat into the trip’s own room.
    if (!(await this.#keeper.hasReserve())) this.#stopKeeping()
  }
}

const TOO_LATE = 'the ledger took too long to keep it'
