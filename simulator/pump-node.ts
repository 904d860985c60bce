// The firmware of a node that obeys the device contract, version 1. It knows nothing of the daemon or of chemistry:
// pumps, probes, its own uptime clock, and the rules below.

import {
  CONTRACT_VERSION,
  type CommandMessage,
  type DaemonMessage,
  type LeaseMessage,
  type NodeMessage,
  type ReportMessage,
} from '../src/contract/message.ts'
import type { Reading } from './probes.ts'
import type { NodeScenario } from './scenario.ts'

/** What the firmware finds soldered to it. */
export interface NodeHardware {
  setPump(pump: string, on: boolean, atMs: number): void
  readings(atMs: number): readonly Reading[]
  /** true for firmware that is broken so that it runs on without a lease */
  disobeysLease(): boolean
  send(message: NodeMessage, atMs: number): void
}

export interface PumpNode {
  /** when something of the node's own is due */
  nextMs(): number
  /** does all that is due up to and at a moment, in order */
  advanceTo(atMs: number): void
  receive(atMs: number, message: DaemonMessage): void
  /** power goes, in mid-shot or not; it is back after `downMs` */
  reboot(atMs: number, downMs?: number): void
  /** the flash is lost as well: totals, doubt, term and ids begin at nothing */
  forget(): void
  /** what a broker holds for it after a new connection */
  announce(atMs: number): void
  boot(): string
  powered(): boolean
}

interface Lease {
  readonly controller: string
  readonly term: number
  readonly untilUptimeMs: number
}

interface Run {
  readonly command: CommandMessage
  readonly pump: string
  readonly startedMs: number
}

/** What is written to flash before it matters. */
interface Store {
  term: number
  boots: number
  /** the shot that was about to run: written before the pump starts, cleared when its end is known */
  intended: Map<string, { id: string; runMs: number }>
  totalRunMs: Map<string, number>
  doubtMs: Map<string, number>
  /** last word on each id obeyed, oldest first */
  obeyed: Map<string, ReportMessage>
}

const OBEYED_KEPT = 64
const DOWN_MS = 4_000
const FIRMWARE = 'bench node 1'

/** A node that is switched on at `startMs`. Its flash begins empty. */
export function createPumpNode(scenario: NodeScenario, hardware: NodeHardware, startMs: number): PumpNode {
  return new Firmware(scenario, hardware, startMs)
}

class Firmware implements PumpNode {
  private readonly scenario: NodeScenario
  private readonly hardware: NodeHardware
  private store: Store = emptyStore()
  private bootMs = 0
  private bootId = ''
  private on = false
  private onAgainMs: number
  private lease: Lease | undefined
  private runs: Run[] = []
  private heartbeatAtMs = 0
  private scanAtMs = 0

  constructor(scenario: NodeScenario, hardware: NodeHardware, startMs: number) {
    this.scenario = scenario
    this.hardware = hardware
    this.onAgainMs = startMs
  }

  boot(): string {
    return this.bootId
  }

  powered(): boolean {
    return this.on
  }

  nextMs(): number {
    if (!this.on) return this.onAgainMs
    const ends = this.runs.map((run) => Math.min(this.endMs(run), this.leaseEndMs()))
    return Math.min(this.heartbeatAtMs, this.scanAtMs, ...ends)
  }

  advanceTo(atMs: number): void {
    for (let due = this.nextMs(); due <= atMs; due = this.nextMs()) {
      if (!this.on) this.start(due)
      for (const run of this.runs.filter((candidate) => this.endMs(candidate) <= due)) this.finish(run, due)
      if (this.leaseEndMs() <= due) this.endLease(due, 'the lease ended')
      if (this.scanAtMs <= due) this.scan(due)
      if (this.heartbeatAtMs <= due) this.heartbeat(due)
    }
  }

  receive(atMs: number, message: DaemonMessage): void {
    this.advanceTo(atMs)
    if (!this.on) return
    if (message.kind === 'lease') this.takeLease(message.message, atMs)
    else this.takeCommand(message.pump, message.message, atMs)
  }

  reboot(atMs: number, downMs = DOWN_MS): void {
    this.advanceTo(atMs)
    if (this.on) {
      for (const run of this.runs) this.hardware.setPump(run.pump, false, atMs)
      this.hardware.send(
        { kind: 'status', message: { contract: CONTRACT_VERSION, online: false, boot: this.bootId } },
        atMs,
      )
    }
    // RAM is gone: lease and running shots. Flash stays.
    this.on = false
    this.lease = undefined
    this.runs = []
    this.onAgainMs = atMs + downMs
  }

  forget(): void {
    this.store = { ...emptyStore(), boots: this.store.boots }
  }

  announce(atMs: number): void {
    if (!this.on) return
    const pumps = this.scenario.pumps.map(({ id, maxRunMs, group }) =>
      group === undefined ? { id, maxRunMs } : { id, maxRunMs, group },
    )
    const probes = this.scenario.probes.map(({ id, unit }) => ({ id, unit }))
    const message = {
      contract: CONTRACT_VERSION,
      online: true,
      boot: this.bootId,
      firmware: FIRMWARE,
      pumps,
      probes,
    } as const
    this.hardware.send({ kind: 'status', message: { ...message, pumps, probes } }, atMs)
  }

  /** After a start the flash says which shot may have run: all of it, since nobody knows how much. */
  private start(atMs: number): void {
    this.on = true
    this.bootMs = atMs
    this.store.boots += 1
    this.bootId = `${this.scenario.id}-${this.store.boots}-${atMs.toString(36)}`
    for (const [pump, { id, runMs }] of this.store.intended) {
      this.store.doubtMs.set(pump, (this.store.doubtMs.get(pump) ?? 0) + runMs)
      const cut = this.reportOf(
        pump,
        id,
        { state: 'stopped', ranMs: 0, reason: 'restarted in mid-shot, see doubtMs' },
        atMs,
      )
      this.remember(cut)
    }
    this.store.intended.clear()
    this.heartbeatAtMs = atMs
    this.scanAtMs = atMs
    this.announce(atMs)
  }

  private takeLease(lease: LeaseMessage, atMs: number): void {
    if (lease.boot !== this.bootId || lease.term < this.store.term) return
    if (this.leaseLives(atMs) && this.lease!.controller !== lease.controller) return
    this.store.term = lease.term
    if (lease.untilUptimeMs > this.uptimeMs(atMs)) this.lease = lease
    else this.endLease(atMs, lease.untilUptimeMs === 0 ? 'the lease was withdrawn' : 'the lease ended')
  }

  private takeCommand(pump: string, command: CommandMessage, atMs: number): void {
    const known = this.store.obeyed.get(command.id)
    if (known) {
      this.hardware.send({ kind: 'report', pump, message: { ...known, uptimeMs: this.uptimeMs(atMs) } }, atMs)
      return
    }
    const reason = this.refusal(pump, command, atMs)
    if (reason !== undefined) {
      const refused = this.reportOf(pump, command.id, { state: 'refused', ranMs: 0, reason }, atMs)
      this.hardware.send({ kind: 'report', pump, message: refused }, atMs)
      return
    }
    this.store.term = command.term
    this.store.intended.set(pump, { id: command.id, runMs: command.runMs })
    this.runs = [...this.runs, { command, pump, startedMs: atMs }]
    this.say(pump, command.id, { state: 'accepted', ranMs: 0 }, atMs)
    this.hardware.setPump(pump, true, atMs)
  }

  /** Why a command is not obeyed, or undefined. A refusal of a known id never gets here. */
  private refusal(pump: string, command: CommandMessage, atMs: number): string | undefined {
    const own = this.scenario.pumps.find(({ id }) => id === pump)
    if (!own) return `no pump ${pump} here`
    if (command.boot !== this.bootId) return 'meant for another boot'
    if (command.term < this.store.term) return `term ${command.term} is below ${this.store.term}`
    if (!this.leaseLives(atMs)) return 'no living lease'
    if (this.lease!.controller !== command.controller) return 'another controller holds the lease'
    if (this.lease!.term !== command.term) return `the lease is of term ${this.lease!.term}`
    if (this.uptimeMs(atMs) >= command.startBeforeUptimeMs) return 'too late to start'
    if (command.runMs > own.maxRunMs) return `runs at most ${own.maxRunMs} ms`
    if (this.runs.some((run) => run.pump === pump)) return 'the pump is running'
    const busy = own.group === undefined ? undefined : this.runs.find((run) => this.groupOf(run.pump) === own.group)
    return busy ? `${busy.pump} of the same group is running` : undefined
  }

  private groupOf(pump: string): string | undefined {
    return this.scenario.pumps.find(({ id }) => id === pump)?.group
  }

  private finish(run: Run, atMs: number): void {
    this.close(run, run.command.runMs, atMs)
    this.say(run.pump, run.command.id, { state: 'done', ranMs: run.command.runMs }, atMs)
  }

  private endLease(atMs: number, reason: string): void {
    if (this.hardware.disobeysLease()) {
      // Broken firmware: the pump runs its shot to the end and the lease is thought to live on.
      if (this.lease) this.lease = { ...this.lease, untilUptimeMs: this.uptimeMs(atMs) + 3_600_000 }
      return
    }
    this.lease = undefined
    for (const run of this.runs) {
      const ranMs = Math.min(atMs - run.startedMs, run.command.runMs)
      this.close(run, ranMs, atMs)
      this.say(run.pump, run.command.id, { state: 'stopped', ranMs, reason }, atMs)
    }
  }

  private close(run: Run, ranMs: number, atMs: number): void {
    this.hardware.setPump(run.pump, false, atMs)
    this.runs = this.runs.filter((candidate) => candidate !== run)
    this.store.intended.delete(run.pump)
    this.store.totalRunMs.set(run.pump, (this.store.totalRunMs.get(run.pump) ?? 0) + ranMs)
  }

  private say(pump: string, id: string, word: Word, atMs: number): void {
    const message = this.reportOf(pump, id, word, atMs)
    this.remember(message)
    this.hardware.send({ kind: 'report', pump, message }, atMs)
  }

  private reportOf(pump: string, id: string, word: Word, atMs: number): ReportMessage {
    const totalRunMs = this.store.totalRunMs.get(pump) ?? 0
    return { id, boot: this.bootId, uptimeMs: this.uptimeMs(atMs), totalRunMs, ...word }
  }

  private remember(report: ReportMessage): void {
    this.store.obeyed.delete(report.id)
    this.store.obeyed.set(report.id, report)
    if (this.store.obeyed.size > OBEYED_KEPT) this.store.obeyed.delete(this.store.obeyed.keys().next().value!)
  }

  private scan(atMs: number): void {
    this.scanAtMs += this.scenario.scanMs
    const readings = [...this.hardware.readings(atMs)]
    if (readings.length === 0) return
    this.hardware.send({ kind: 'scan', message: { boot: this.bootId, uptimeMs: this.uptimeMs(atMs), readings } }, atMs)
  }

  private heartbeat(atMs: number): void {
    this.heartbeatAtMs += this.scenario.heartbeatMs
    const pumps = this.scenario.pumps.map(({ id }) => {
      const running = this.runs.find((run) => run.pump === id)
      const counts = { id, totalRunMs: this.store.totalRunMs.get(id) ?? 0, doubtMs: this.store.doubtMs.get(id) ?? 0 }
      return running ? { ...counts, runningId: running.command.id } : counts
    })
    const message = { boot: this.bootId, uptimeMs: this.uptimeMs(atMs), term: this.store.term, pumps }
    this.hardware.send({ kind: 'heartbeat', message }, atMs)
  }

  private uptimeMs(atMs: number): number {
    return Math.floor(atMs - this.bootMs)
  }

  private leaseLives(atMs: number): boolean {
    return this.lease !== undefined && this.uptimeMs(atMs) < this.lease.untilUptimeMs
  }

  private leaseEndMs(): number {
    return this.lease ? this.bootMs + this.lease.untilUptimeMs : Infinity
  }

  private endMs(run: Run): number {
    return run.startedMs + run.command.runMs
  }
}

type Word = Pick<ReportMessage, 'state' | 'ranMs' | 'reason'>

function emptyStore(): Store {
  return { term: 0, boots: 0, intended: new Map(), totalRunMs: new Map(), doubtMs: new Map(), obeyed: new Map() }
}
