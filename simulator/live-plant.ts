// A world on the wall's clock: what its nodes say goes out over their links, what comes in is heard at its time.

import { appendFileSync, existsSync, readFileSync } from 'node:fs'
import { performance } from 'node:perf_hooks'
import type { DaemonMessage, NodeMessage } from '../src/contract/message.ts'
import type { Scenario } from './scenario.ts'
import { createWorld, type World } from './world.ts'

export interface LivePlantOptions {
  readonly scenario: Scenario
  readonly seed: number
  /** plant time over wall time */
  readonly scale?: number
  /** the plant's day 0; the scenario's own unless given */
  readonly startAtMs?: number
  /** the plant's clock, epoch ms; replaces `scale` where a demo has a clock of its own */
  readonly nowMs?: () => number
  /** a world that has lived already; its nodes begin with a new boot, as after a power cut */
  readonly world?: World
  /** what was received is kept here, so that a plant killed and started anew goes on where it was */
  readonly stateFile?: string
}

/** The way of one node to the daemon. */
export interface NodeLink {
  send(message: NodeMessage): void
  connected(): boolean
  close(): Promise<void>
}

export type OpenLink = (node: string, onMessage: (message: DaemonMessage) => void) => NodeLink

export interface LivePlant {
  readonly world: World
  /** the plant's clock, epoch ms */
  nowMs(): number
  /** whether every node has its connection */
  connected(): boolean
  stop(): Promise<void>
}

/** Wall time between two looks at the clock. */
const TICK_MS = 20

/** Starts a plant and keeps it going until `stop`; each node of the scenario gets a link of its own. */
export function startLivePlant(options: LivePlantOptions, openLink: OpenLink): LivePlant {
  const { scenario, seed } = options
  const startMs = options.startAtMs ?? Date.parse(scenario.startsAt)
  const journal = options.stateFile === undefined ? undefined : openJournal(options.stateFile, { seed, startMs })
  const world = options.world ?? createWorld(scenario, seed, { startAtMs: journal?.startMs ?? startMs })
  const resumedMs = journal ? resume(world, journal) : world.startMs
  const clock = options.nowMs ?? scaledClock(resumedMs, options.scale ?? 1)
  let lastMs = resumedMs
  const nowMs = () => {
    lastMs = Math.max(lastMs, Math.floor(clock()))
    return lastMs
  }
  const links = new Map<string, NodeLink>()
  const deliver = () => {
    for (const { node, message } of world.advanceTo(nowMs())) links.get(node)?.send(message)
  }
  for (const { id: node } of scenario.nodes) {
    const onMessage = (message: DaemonMessage) => {
      const atMs = nowMs()
      journal?.note({ atMs, node, message })
      world.receive(atMs, node, message)
      deliver()
    }
    links.set(node, openLink(node, onMessage))
  }
  if (options.world) for (const { id } of scenario.nodes) world.reboot(nowMs(), id)
  deliver()
  const timer = setInterval(deliver, TICK_MS)
  const beat = setInterval(() => journal?.note({ atMs: nowMs() }), 1000)
  return {
    world,
    nowMs,
    connected: () => [...links.values()].every((link) => link.connected()),
    stop: async () => {
      clearInterval(timer)
      clearInterval(beat)
      journal?.note({ atMs: nowMs() })
      await Promise.all([...links.values()].map((link) => link.close()))
    },
  }
}

function scaledClock(fromMs: number, scale: number): () => number {
  const beganMs = performance.now()
  return () => fromMs + (performance.now() - beganMs) * scale
}

interface Note {
  readonly atMs: number
  readonly node?: string
  readonly message?: DaemonMessage
}

interface Journal {
  readonly startMs: number
  readonly notes: readonly Note[]
  note(note: Note): void
}

/** One line of JSON per note; the first says seed and start. A last line cut short by a kill is left out. */
function openJournal(path: string, head: { seed: number; startMs: number }): Journal {
  const note = (line: object) => appendFileSync(path, `${JSON.stringify(line)}\n`)
  if (!existsSync(path)) {
    note(head)
    return { startMs: head.startMs, notes: [], note }
  }
  const lines = readFileSync(path, 'utf8').split('\n').slice(0, -1)
  const [first, ...notes] = lines.map((line) => JSON.parse(line) as { seed: number; startMs: number } & Note)
  if (!first || first.seed !== head.seed)
    throw new Error(`${path} belongs to a plant with another seed (${first?.seed})`)
  return { startMs: first.startMs, notes, note }
}

/** Lives the noted past again, then the power comes back on every node. */
function resume(world: World, { notes }: Journal): number {
  for (const { atMs, node, message } of notes) {
    if (node !== undefined && message !== undefined) world.receive(atMs, node, message)
    else world.advanceTo(atMs)
  }
  const lastMs = notes.at(-1)?.atMs
  if (lastMs === undefined) return world.startMs
  world.advanceTo(lastMs)
  for (const { id } of world.scenario.nodes) world.reboot(lastMs, id)
  return lastMs
}
