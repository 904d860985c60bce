// The whole plant in one process, in lockstep: physics, nodes, link, laboratory and faults, all from one seed.

import type { Composition } from '../src/chemistry/element.ts'
import type { DaemonMessage, NodeMessage } from '../src/contract/message.ts'
import type { NodeTopic } from '../src/contract/topic.ts'
import { createFaultBoard, type Fault, type FaultBoard } from './faults.ts'
import { createLaboratory, type Laboratory, type LaboratoryReport } from './laboratory.ts'
import { Plant, type PlantTruth } from './plant.ts'
import { createProbes, type Probes } from './probes.ts'
import { createPumpNode, type PumpNode } from './pump-node.ts'
import { createRandom, type RandomStream } from './random.ts'
import type { NodeScenario, Scenario } from './scenario.ts'

const DAY_MS = 86_400_000

export interface NodeEmission {
  readonly atMs: number
  readonly node: string
  readonly message: NodeMessage
}

export interface World {
  readonly startMs: number
  readonly scenario: Scenario
  /** Moves time on and returns what the nodes said up to and at that moment, in order. Time never goes back. */
  advanceTo(atMs: number): readonly NodeEmission[]
  /** Hands a command or a lease to a node; what it answers comes with the next `advanceTo`. */
  receive(atMs: number, node: string, message: DaemonMessage): void
  /** Fills a bottle now, beside the scenario's own rhythm. */
  sample(atMs: number): void
  /** Laboratory reports that have come by then, each once. */
  laboratoryReports(untilMs: number): readonly LaboratoryReport[]
  /** As of the last whole minute of the plant's clock (`atMs` says which). */
  truth(): PlantTruth
  book(): ReturnType<Plant['book']>
  drain(volumeL: number): number
  /** Up to the mark with a solution of these mg/L, or with make-up water. */
  refill(elements?: Composition, ph?: number): number
  replaceAll(): void
  addSalt(formula: string, massG: number): void
  refillStock(pump: string): void
  reboot(atMs: number, node: string, downMs?: number): void
}

export interface WorldOptions {
  /** another day 0 than the scenario's; epoch milliseconds UTC */
  readonly startAtMs?: number
  /** other periods than the scenario's for all nodes, such as a slow heartbeat for a long campaign */
  readonly heartbeatMs?: number
  readonly scanMs?: number
}

/**
 * A world of its own. Two worlds with the same scenario, seed and calls say the same, bit for bit; how finely
 * `advanceTo` is called makes no difference.
 */
export function createWorld(scenario: Scenario, seed: number, options: WorldOptions = {}): World {
  const { startAtMs = Date.parse(scenario.startsAt), heartbeatMs, scanMs } = options
  const nodes = scenario.nodes.map((node) => ({
    ...node,
    heartbeatMs: heartbeatMs ?? node.heartbeatMs,
    scanMs: scanMs ?? node.scanMs,
  }))
  return new LockstepWorld({ ...scenario, nodes }, seed, startAtMs)
}

/** The topic on which an emission travels. */
export function topicOf({ node, message }: NodeEmission): NodeTopic {
  return message.kind === 'report' ? { kind: 'report', node, pump: message.pump } : { kind: message.kind, node }
}

interface Action {
  readonly atMs: number
  readonly run: () => void
}

/** A broker notices a dead node after one and a half keep-alive periods of 60 s (MQTT 3.1.1 §3.1.2.10). */
const WILL_AFTER_MS = 90_000

class LockstepWorld implements World {
  readonly startMs: number
  readonly scenario: Scenario
  private readonly faults: FaultBoard
  private readonly plant: Plant
  private readonly probes: Probes
  private readonly laboratory: Laboratory
  private readonly nodes = new Map<string, PumpNode>()
  private readonly link: RandomStream
  private outbox: NodeEmission[] = []
  private actions: Action[] = []
  private atMs: number

  constructor(scenario: Scenario, seed: number, startMs: number) {
    this.scenario = scenario
    this.startMs = startMs
    this.atMs = startMs
    this.faults = createFaultBoard(scenario.faults, startMs)
    this.plant = new Plant(scenario, seed, startMs, this.faults)
    this.probes = createProbes(scenario, seed, startMs, this.faults)
    this.laboratory = createLaboratory(scenario, seed, this.faults)
    this.link = createRandom(seed, 'link')
    for (const node of scenario.nodes) this.nodes.set(node.id, createPumpNode(node, this.hardwareOf(node), startMs))
    this.planSample(startMs + scenario.laboratory.firstDay * DAY_MS)
  }

  advanceTo(atMs: number): readonly NodeEmission[] {
    this.settle(atMs)
    const said = this.outbox
    this.outbox = []
    return said
  }

  receive(atMs: number, node: string, message: DaemonMessage): void {
    const target = this.need(node)
    this.settle(atMs)
    if (this.faults.find('node-silent', node)) return
    const lost = this.faults.find('messages-lost', node)
    if (lost && this.link.uniform() < lost.share) return
    const doubled = this.faults.find('messages-doubled', node)
    const times = doubled && this.link.uniform() < doubled.share ? 2 : 1
    const late = this.faults.find('messages-late', node)
    for (let n = 0; n < times; n += 1) {
      if (late) this.plan(atMs + late.byMs, (dueMs) => target.receive(dueMs, message))
      else target.receive(atMs, message)
    }
  }

  sample(atMs: number): void {
    this.settle(atMs)
    const { conductivityDsPerM, ph } = this.plant.truth()
    this.laboratory.take({ sampledAtMs: atMs, mmolPerL: this.plant.bottle(), conductivityDsPerM, ph })
  }

  laboratoryReports(untilMs: number): readonly LaboratoryReport[] {
    return this.laboratory.reportsUntil(untilMs)
  }

  truth(): PlantTruth {
    return this.plant.truth()
  }

  book(): ReturnType<Plant['book']> {
    return this.plant.book()
  }

  drain(volumeL: number): number {
    return this.plant.drain(volumeL)
  }

  refill(elements?: Composition, ph?: number): number {
    return this.plant.refill(elements, ph)
  }

  replaceAll(): void {
    this.plant.replaceAll()
  }

  addSalt(formula: string, massG: number): void {
    this.plant.addSalt(formula, massG)
  }

  refillStock(pump: string): void {
    this.plant.dosing.refill(pump)
  }

  reboot(atMs: number, node: string, downMs?: number): void {
    this.settle(atMs)
    this.need(node).reboot(atMs, downMs)
  }

  /** Lets everything happen that is due, in the order of its time. */
  private settle(untilMs: number): void {
    if (untilMs < this.atMs) throw new Error(`time ran back: asked for ${untilMs}, the world is at ${this.atMs}`)
    for (;;) {
      const nodesMs = Math.min(...[...this.nodes.values()].map((node) => node.nextMs()))
      const due = Math.min(nodesMs, this.faults.nextChangeMs(), this.actions[0]?.atMs ?? Infinity)
      if (due > untilMs) break
      if (this.faults.nextChangeMs() <= due) this.changeFaults(due)
      while (this.actions.length > 0 && this.actions[0]!.atMs <= due) this.actions.shift()!.run()
      for (const node of this.nodes.values()) node.advanceTo(due)
    }
    this.atMs = untilMs
    this.plant.advance(this.plant.gridMs(untilMs))
  }

  private changeFaults(atMs: number): void {
    this.plant.advance(atMs)
    const silentBefore = [...this.nodes.keys()].filter((node) => this.faults.find('node-silent', node))
    const ran = this.scenario.faults.filter(
      (fault) => fault.kind === 'pump-runs-on' && this.faults.find(fault.kind, fault.pump),
    )
    const begun = this.faults.moveTo(atMs)
    for (const fault of begun) this.begin(fault, atMs)
    for (const node of silentBefore) {
      if (!this.faults.find('node-silent', node)) this.need(node).announce(atMs)
    }
    for (const fault of ran) {
      if (fault.kind === 'pump-runs-on' && !this.faults.find('pump-runs-on', fault.pump))
        this.plant.dosing.set(fault.pump, false)
    }
  }

  private begin(fault: Fault, atMs: number): void {
    if (fault.kind === 'node-reboot' || fault.kind === 'node-forgets-totals') {
      this.need(fault.node).reboot(atMs)
      if (fault.kind === 'node-forgets-totals') this.need(fault.node).forget()
    }
    if (fault.kind !== 'node-silent') return
    const boot = this.need(fault.node).boot()
    const message: NodeMessage = { kind: 'status', message: { contract: 1, online: false, boot } }
    this.plan(atMs + WILL_AFTER_MS, (dueMs) => {
      // The broker speaks for the node, unless the node is back by then.
      if (this.faults.find('node-silent', fault.node)) this.outbox.push({ atMs: dueMs, node: fault.node, message })
    })
  }

  private hardwareOf(node: NodeScenario) {
    return {
      setPump: (pump: string, on: boolean, atMs: number) => {
        this.plant.advance(atMs)
        this.plant.dosing.set(pump, on)
      },
      readings: (atMs: number) => {
        this.plant.advance(this.plant.gridMs(atMs))
        const senses = this.plant.senses()
        return node.probes
          .map((probe) => this.probes.read(probe, senses, atMs))
          .filter((reading) => reading !== undefined)
      },
      disobeysLease: () => this.faults.find('node-disobeys-lease', node.id) !== undefined,
      send: (message: NodeMessage, atMs: number) => this.carry({ atMs, node: node.id, message }),
    }
  }

  /** The way over the link, with what may go wrong on it. */
  private carry(emission: NodeEmission): void {
    const { node, atMs } = emission
    if (this.faults.find('node-silent', node)) return
    const lost = this.faults.find('messages-lost', node)
    if (lost && this.link.uniform() < lost.share) return
    const doubled = this.faults.find('messages-doubled', node)
    const times = doubled && this.link.uniform() < doubled.share ? 2 : 1
    const late = this.faults.find('messages-late', node)
    for (let n = 0; n < times; n += 1) {
      if (late) this.plan(atMs + late.byMs, (dueMs) => this.outbox.push({ ...emission, atMs: dueMs }))
      else this.outbox.push(emission)
    }
  }

  private plan(atMs: number, run: (atMs: number) => void): void {
    const at = this.actions.findIndex((action) => action.atMs > atMs)
    this.actions.splice(at < 0 ? this.actions.length : at, 0, { atMs, run: () => run(atMs) })
  }

  /** The scenario's rhythm of bottles; everyDays 0 leaves them to the caller. */
  private planSample(atMs: number): void {
    const { everyDays } = this.scenario.laboratory
    if (everyDays === 0) return
    this.plan(atMs, () => {
      this.plant.advance(this.plant.gridMs(atMs))
      const { conductivityDsPerM, ph } = this.plant.truth()
      this.laboratory.take({ sampledAtMs: atMs, mmolPerL: this.plant.bottle(), conductivityDsPerM, ph })
      this.planSample(atMs + everyDays * DAY_MS)
    })
  }

  private need(node: string): PumpNode {
    const found = this.nodes.get(node)
    if (!found) throw new Error(`the plant has no node '${node}'`)
    return found
  }
}
