/** A bench with two pump nodes and its probes: it tells the gate what such a bench tells, and does what shots ask. */

import type { ProbeLimits } from '../../../src/safety/limits.ts'
import type { RoleReading } from '../../../src/safety/on-readings.ts'
import type { Report } from '../../../src/safety/on-report.ts'
import type { ReadingQuality } from '../../../src/safety/state.ts'
import type { Chance } from './chance.ts'
import type { Gate } from './gate.ts'
import type { Sent, Told } from './told.ts'

const LONGEST_RUN_MS = 40_000

/** What each probe shows where all is well. */
export const USUAL: Readonly<Record<string, number>> = {
  conductivity: 1.8,
  ph: 6.2,
  temperature: 20,
  level: 220,
  flow: 9,
  'top-up': 12,
}

interface Node {
  readonly name: string
  boot: number
  bootAtMs: number
  term: number
  readonly pumps: Map<string, { totalMs: number; doubtMs: number }>
  running: { readonly sent: Sent; readonly fromMs: number; readonly untilMs: number } | null
}

export class Plant {
  readonly gate: Gate
  readonly chance: Chance
  atMs = 1_772_000_000_000
  readonly nodes: readonly Node[]
  /** what is yet to come of itself */
  private due: { atMs: number; run: () => void }[] = []
  /** values that stand where a test put them, by probe */
  readonly fixed = new Map<string, { value: number; quality: ReadingQuality }>()

  constructor(gate: Gate, chance: Chance) {
    this.gate = gate
    this.chance = chance
    this.nodes = ['one', 'two'].map((name) => ({
      name,
      boot: 1,
      bootAtMs: this.atMs - 1000 * (60 + chance.below(6000)),
      term: 1,
      running: null,
      pumps: new Map(
        gate.limits.stocks
          .filter((stock) => stock.node === name)
          .map((stock) => [stock.pump, { totalMs: chance.below(1e6), doubtMs: 0 }]),
      ),
    }))
  }

  bootOf(node: Node): string {
    return `${node.name}-${node.boot}`
  }

  uptimeMs(node: Node): number {
    return this.atMs - node.bootAtMs
  }

  status(node: Node, change: { online?: boolean; contract?: number; boot?: string; named?: boolean } = {}): void {
    const { online = true, contract = 1, boot = this.bootOf(node), named = true } = change
    const pumps = [...node.pumps.keys()].map((id) => ({ id, maxRunMs: LONGEST_RUN_MS }))
    const status = online && named ? { contract, online, boot, pumps } : { contract, online, boot }
    this.gate.tell({ kind: 'status', atMs: this.atMs, node: node.name, status })
  }

  /** What a node’s heartbeat says now; a pump that runs has its time counted as it goes. */
  heartbeat(node: Node): Extract<Told, { kind: 'heartbeat' }> {
    const pumps = [...node.pumps].map(([id, pump]) => {
      const run = node.running?.sent.pump === id ? node.running : null
      const soFarMs = run === null ? 0 : Math.max(0, Math.min(this.atMs, run.untilMs) - run.fromMs)
      const running = run === null ? {} : { runningId: run.sent.id }
      return { id, totalRunMs: pump.totalMs + soFarMs, doubtMs: pump.doubtMs, ...running }
    })
    const heartbeat = { boot: this.bootOf(node), uptimeMs: this.uptimeMs(node), term: node.term, pumps }
    return { kind: 'heartbeat', atMs: this.atMs, node: node.name, heartbeat }
  }

  beatAll(): void {
    for (const node of this.nodes) this.gate.tell(this.heartbeat(node))
  }

  scanAll(): void {
    for (const node of this.nodes) this.scan(node.name, () => true)
  }

  scan(node: string, which: (probe: ProbeLimits) => boolean): void {
    const probes = this.gate.limits.probes.filter((probe) => probe.node === node && which(probe))
    const readings = probes.map((probe) => this.reading(probe))
    if (readings.length > 0) this.gate.tell({ kind: 'readings', atMs: this.atMs, node, readings })
  }

  private reading(probe: ProbeLimits): RoleReading {
    const usual = USUAL[probe.role] ?? 0
    const free = { value: usual * (1 + 0.02 * (this.chance.share() - 0.5)), quality: 'good' as const }
    return { id: probe.id, role: probe.role, ...(this.fixed.get(probe.id) ?? free) }
  }

  /** Lets time pass to a moment, with scans and heartbeats often enough for both to stay fresh. */
  passTo(toMs: number): void {
    const { scanAgeMaxMs, heartbeatAgeMaxMs } = this.gate.limits
    const mostMs = Math.min(scanAgeMaxMs, heartbeatAgeMaxMs)
    while (this.atMs < toMs) {
      const stepMs = mostMs >= 1000 ? Math.ceil(mostMs * (0.5 + 0.5 * this.chance.share())) : 60_000
      this.quietlyTo(Math.min(toMs, this.atMs + stepMs))
      this.scanAll()
      this.beatAll()
      this.gate.tell({ kind: 'tick', atMs: this.atMs })
    }
  }

  /** Lets time pass in which nothing is heard but what comes of itself. */
  quietlyTo(toMs: number): void {
    for (;;) {
      this.due.sort((a, b) => a.atMs - b.atMs)
      const next = this.due[0]
      if (next === undefined || next.atMs > toMs) break
      this.due.shift()
      this.atMs = Math.max(this.atMs, next.atMs)
      next.run()
    }
    this.atMs = Math.max(this.atMs, toMs)
  }

  after(waitMs: number, run: () => void): void {
    this.due.push({ atMs: this.atMs + waitMs, run })
  }

  /** A node obeys a command: once, in time, and tells so unless its reports are lost. */
  obey(sent: Sent, how: { waitMs: number; runMs: number; tells: boolean }): void {
    const node = this.nodeOf(sent.node)
    this.after(how.waitMs, () => {
      const isTooLate = this.uptimeMs(node) >= sent.startBeforeUptimeMs
      if (this.bootOf(node) !== sent.boot || isTooLate || node.running !== null) {
        if (how.tells) this.report(sent, { state: 'refused', ranMs: 0 })
        return
      }
      node.running = { sent, fromMs: this.atMs, untilMs: this.atMs + how.runMs }
      if (how.tells && this.chance.often(0.5)) this.report(sent, { state: 'running', ranMs: 0 })
      this.after(how.runMs, () => this.finish(node, sent, how))
    })
  }

  private finish(node: Node, sent: Sent, how: { runMs: number; tells: boolean }): void {
    if (node.running?.sent !== sent) return
    node.running = null
    const pump = node.pumps.get(sent.pump)
    if (pump !== undefined) pump.totalMs += how.runMs
    if (how.tells) this.report(sent, { state: how.runMs === sent.runMs ? 'done' : 'stopped', ranMs: how.runMs })
  }

  report(sent: Sent, say: Pick<Report, 'state' | 'ranMs'> & { readonly totalRunMs?: number }): void {
    const node = this.nodeOf(sent.node)
    const totalRunMs = say.totalRunMs ?? node.pumps.get(sent.pump)?.totalMs ?? 0
    const report = { id: sent.id, boot: sent.boot, uptimeMs: this.uptimeMs(node), ...say, totalRunMs }
    this.gate.tell({ kind: 'report', atMs: this.atMs, node: sent.node, pump: sent.pump, report })
  }

  /** A node starts anew; of a run that this cuts short it can vouch for only a part. */
  reboot(node: Node): void {
    const run = node.running
    if (run !== null) {
      const pump = node.pumps.get(run.sent.pump)
      const ranMs = Math.max(0, Math.min(this.atMs, run.untilMs) - run.fromMs)
      const sureMs = this.chance.below(ranMs + 1)
      if (pump !== undefined) {
        pump.totalMs += sureMs
        pump.doubtMs += run.sent.runMs - sureMs
      }
    }
    Object.assign(node, { running: null, boot: node.boot + 1, bootAtMs: this.atMs - this.chance.below(3000) })
  }

  nodeOf(name: string): Node {
    const node = this.nodes.find((entry) => entry.name === name)
    if (node === undefined) throw new Error(`the bench has no node ${name}`)
    return node
  }
}
