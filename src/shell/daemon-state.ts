/** What the daemon shows: the last events, counts, and views of the state for page, metrics and retained topics. */

import type { Configuration } from '../config/configuration.ts'
import type { Notice } from '../core/alarm/escalation.ts'
import { formatReportError } from '../formulation/laboratory/report.ts'
import type { SqliteLedger } from '../ledger/sqlite-ledger.ts'
import type { Effect } from '../reservoir/effect.ts'
import type { Instruction } from '../reservoir/input.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import { createAlarmTopics } from './alarm-topics.ts'
import type { Clock } from './clock.ts'
import type {
  DaemonView,
  EventView,
  InstructionAnswer,
  LaboratoryAnswer,
  LaboratoryUpload,
  PersonsInput,
  PumpRunAnswer,
  PumpRunWish,
  StatusView,
} from './daemon-view.ts'
import { nothingToInstruct, nothingToRun } from './instruction-check.ts'
import { readUpload } from './laboratory-upload.ts'
import { componentLog, type Logger } from './log.ts'
import type { Loop } from './loop.ts'
import { HEARD_ANYWAY } from './loop-input.ts'
import { observedText } from './observed-text.ts'
import { estimateView, statusView } from './status-view.ts'

export interface DaemonStateOptions {
  readonly configuration: Configuration
  readonly reservoirId: string
  readonly version: string
  readonly clock: Clock
  readonly ledger: SqliteLedger
  readonly log: Logger
  readonly loop: () => Loop
  readonly publishState?: (suffix: string, json: string) => void
  /** what named people must be told */
  readonly notify?: (notice: Notice) => void
}

export interface DaemonState {
  readonly view: DaemonView
  /** takes an effect of the loop into the log, the events and the counts */
  note(effect: Effect, atMs: number): void
  /** tells whoever looks that new readings are in; nothing of it is kept */
  noteScan(): void
  /** the retained topics, as they stand */
  publish(): void
}

/** Enough for the page to go on after a break of some hours; half of them go at once, so that few copies are made. */
const EVENTS_KEPT = 500

/** Empty views, filled by what the loop tells from now on; `loop` may be asked only once it is there. */
export function createDaemonState(options: DaemonStateOptions): DaemonState {
  return new State(options)
}

type Settled = Extract<LedgerRecord, { kind: 'settled' }>

class State implements DaemonState {
  readonly #options: DaemonStateOptions
  readonly #log: Logger
  readonly #listeners = new Set<(event: EventView) => void>()
  readonly #doses = new Map<string, { pump: string; outcome: string; count: number; volumeUl: number }>()
  readonly #trips = new Map<string, number>()
  #events: EventView[] = []
  #eventCount = 0
  #freeBytes = 0
  readonly #alarmTopics: ReturnType<typeof createAlarmTopics> | undefined
  #head: StatusView['head'] = { sequence: 0, hash: '' }

  constructor(options: DaemonStateOptions) {
    this.#options = options
    this.#log = componentLog(options.log, 'reservoir')
    if (options.publishState) this.#alarmTopics = createAlarmTopics(options.publishState)
  }

  note(effect: Effect, atMs: number): void {
    switch (effect.kind) {
      case 'notification':
        this.#log.info({ event: effect.event }, effect.text)
        if (effect.notice) this.#options.notify?.(effect.notice)
        return this.#tell(atMs, effect.event, effect.text)
      case 'alarm':
        this.#log.warn({ event: 'alarm', alarm: effect.alarm, state: effect.state }, effect.text)
        this.#alarmTopics?.(this.#loop.state.alarms)
        return this.#tell(atMs, 'alarm', `${effect.alarm} ${effect.state}: ${effect.text}`)
      case 'lease':
        this.#log.info(
          { event: 'lease', node: effect.node },
          `lease ${effect.allowed ? 'allowed' : 'withdrawn'}: ${effect.why}`,
        )
        return
      case 'record':
        return this.#count(effect.record)
      case 'command':
        return
    }
  }

  noteScan(): void {
    const event = { sequence: this.#eventCount, atMs: this.#loop.state.atMs, kind: 'scan', text: 'new readings' }
    for (const listener of this.#listeners) listener(event)
  }

  publish(): void {
    void this.#askLedger()
    const { publishState } = this.#options
    if (!publishState) return
    this.#alarmTopics?.(this.#loop.state.alarms)
    publishState('status', JSON.stringify(this.view.status()))
    const estimate = this.view.estimate()
    if (estimate) publishState('estimate', JSON.stringify(estimate))
  }

  /** Asked on the side, so that a slow disk never holds up what is shown; without an answer the last one stands. */
  async #askLedger(): Promise<void> {
    const { ledger, reservoirId } = this.#options
    try {
      this.#head = await ledger.head(reservoirId)
      this.#freeBytes = await ledger.freeBytes()
    } catch (error) {
      this.#log.warn(`the ledger’s disk does not answer: ${error instanceof Error ? error.message : String(error)}`)
    }
  }

  #tell(atMs: number, kind: string, text: string): void {
    const event = { sequence: ++this.#eventCount, atMs, kind, text }
    this.#events.push(event)
    if (this.#events.length > EVENTS_KEPT) this.#events = this.#events.slice(-EVENTS_KEPT / 2)
    for (const listener of this.#listeners) listener(event)
  }

  #count(record: LedgerRecord): void {
    if (record.kind === 'tripped') this.#trips.set(record.trip, (this.#trips.get(record.trip) ?? 0) + 1)
    if (record.kind === 'settled') this.#countDose(record)
    if (record.kind === 'observed' && this.#log.isLevelEnabled('info'))
      this.#log.info({ event: 'observed' }, observedText(record.observation, this.view.estimate()))
  }

  #countDose({ stock, outcome, delivered }: Settled): void {
    const pump = this.#options.configuration.site.stocks.find((candidate) => candidate.id === stock)?.pump ?? stock
    const key = `${pump} ${outcome}`
    const before = this.#doses.get(key) ?? { pump, outcome, count: 0, volumeUl: 0 }
    this.#doses.set(key, { ...before, count: before.count + 1, volumeUl: before.volumeUl + delivered.highUl })
  }

  readonly view: DaemonView = {
    status: () => statusView({ ...this.#options, state: this.#loop.state, head: this.#head }),
    estimate: () => estimateView(this.#options.configuration, this.#loop.state),
    recentEvents: (limit, afterSequence = 0) =>
      this.#events.filter((event) => event.sequence > afterSequence).slice(-limit),
    subscribe: (listener) => {
      this.#listeners.add(listener)
      return () => this.#listeners.delete(listener)
    },
    counters: () => ({
      doses: [...this.#doses.values()],
      trips: [...this.#trips].map(([interlock, count]) => ({ interlock, count })),
      probes: Object.entries(this.#loop.state.safety.readings).map(([probe, { atMs }]) => ({ probe, lastAtMs: atMs })),
      ledgerFreeBytes: this.#freeBytes,
    }),
    alive: () => !this.#loop.isStopped && this.#loop.busyForMs() < STALLED_MS,
    readiness: () => this.#readiness(),
    addLaboratory: (upload) => this.#addLaboratory(upload),
    instruct: (by, reason, instruction) => this.#instruct(by, reason, instruction),
    runPump: (by, reason, run) => this.#runPump(by, reason, run),
    tell: (input) => this.#hear(input),
  }

  get #loop(): Loop {
    return this.#options.loop()
  }

  #readiness(): ReturnType<DaemonView['readiness']> {
    const { safety } = this.#loop.state
    const offline = Object.entries(safety.nodes)
      .filter(([, node]) => !node.online)
      .map(([name]) => name)
    return [
      { name: 'ledger', ok: safety.diskWritable, text: safety.diskWritable ? 'can be written' : 'cannot be written' },
      { name: 'link', ok: safety.linkUp, text: safety.linkUp ? 'up' : 'down' },
      { name: 'clock', ok: safety.clockSane, text: safety.clockSane ? 'sane' : 'behind the ledger' },
      {
        name: 'nodes',
        ok: offline.length === 0,
        text: offline.length === 0 ? 'online' : `not online: ${offline.join(', ')}`,
      },
    ]
  }

  async #instruct(by: string, reason: string, instruction: Instruction): Promise<InstructionAnswer> {
    const why = nothingToInstruct({
      ...{ configuration: this.#options.configuration, state: this.#loop.state, nowMs: this.#options.clock.wallMs() },
      instruction,
    })
    if (why !== undefined) return { kind: 'refused', why }
    return this.#hear({ kind: 'instruction', by, reason, instruction })
  }

  async #runPump(by: string, reason: string, run: PumpRunWish): Promise<PumpRunAnswer> {
    const why = nothingToRun(this.#options.configuration, run)
    if (why !== undefined) return { kind: 'refused', why }
    const instruction = { instruction: 'pump-run', ...run } as const
    const effects = await this.#loop.ask({ kind: 'instruction', by, reason, instruction })
    if (!effects) return { kind: 'not-kept', why: NOT_KEPT }
    const shot = effects.flatMap((effect) => (effect.kind === 'command' ? [effect.shot] : []))[0]
    if (shot) return { kind: 'on-its-way', commandId: shot.id, runMs: shot.runMs, volumeMl: shot.volumeUl / 1000 }
    return { kind: 'refused', why: refusalIn(effects) ?? 'the gate did not say why' }
  }

  async #hear(input: PersonsInput): Promise<InstructionAnswer> {
    const effects = await this.#loop.ask(input)
    if (!effects) return { kind: 'not-kept', why: isHeardAnyway(input) ? HEARD_NOT_KEPT : NOT_KEPT }
    const why = refusalIn(effects)
    return why === undefined ? { kind: 'taken' } : { kind: 'refused', why }
  }

  async #addLaboratory(upload: LaboratoryUpload): Promise<LaboratoryAnswer> {
    const read = readUpload(upload)
    if (read.kind !== 'result')
      return read.kind === 'unreadable' ? { kind: 'refused', why: read.errors.map(formatReportError) } : read
    const { id } = read.result
    if (isTakenAlready(this.#loop.state, id)) return { kind: 'accepted', id, text: read.text, known: true }
    const { by, isAccepted } = upload
    const wasHeld = this.#loop.state.heldReports.some((report) => report.result.id === id)
    const answer = await this.#hear({ kind: 'laboratory-result', by, result: read.result, isAccepted })
    if (answer.kind === 'not-kept')
      return { kind: 'refused', why: ['the ledger cannot be written now; try again when it can'] }
    // People know a file by its name; the id is the loop’s own.
    if (answer.kind === 'refused')
      return { kind: 'refused', why: [answer.why.replace(`the laboratory result ${id}`, upload.fileName)] }
    const held = this.#loop.state.heldReports.find((report) => report.result.id === id)
    if (!held) return { kind: 'accepted', id, text: read.text }
    return { kind: 'held', id, why: wasHeld ? [HELD_BEFORE, ...held.why] : held.why }
  }
}

/** A loop busy for so long with one input is not alive; six heartbeats, so its leases are long over. Chosen. */
const STALLED_MS = 30_000

/** What the loop calls it when it does not do what it was told. */
const REFUSALS: ReadonlySet<string> = new Set(['refused', 'instruction-refused'])

function refusalIn(effects: readonly Effect[]): string | undefined {
  const told = effects.flatMap((effect) => (effect.kind === 'notification' ? [effect] : []))
  return told.find(({ event }) => REFUSALS.has(event))?.text.replace(/[.]$/, '')
}

/** Whether this very result counts now: in the open step or in one that is kept. */
function isTakenAlready({ core }: ReservoirState, id: string): boolean {
  const steps = core ? [core.open, ...core.history.stretches.flatMap((stretch) => stretch.steps)] : []
  return steps.some((step) => step.laboratory.some((report) => report.id === id))
}

function isHeardAnyway(input: PersonsInput): boolean {
  return input.kind === 'instruction' && HEARD_ANYWAY.has(input.instruction.instruction)
}

const HEARD_NOT_KEPT =
  'done, but the ledger cannot be written, so a restart before it can would forget it; say it again then'
const HELD_BEFORE = 'This very file was given before and is held already; decide about it in the list of reports.'
const NOT_KEPT = 'the ledger cannot be written, so this would be forgotten; nothing is dosed meanwhile. Try again then'
