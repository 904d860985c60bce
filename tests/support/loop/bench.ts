/**
 * A bench driven by hand: one reservoir and one pump node that obeys the contract unless the test makes it fail. Time
 * goes in minutes; every minute brings a heartbeat, a scan and a tick, and what the pumps did.
 */

import type { Configuration } from '../../../src/config/configuration.ts'
import { reservoirSettings } from '../../../src/reservoir/configure-reservoir.ts'
import type { Effect } from '../../../src/reservoir/effect.ts'
import type { Act, Input, Instruction, LaboratoryResult } from '../../../src/reservoir/input.ts'
import type { LedgerRecord } from '../../../src/reservoir/record.ts'
import { initialReservoirState, type ReservoirSettings, type ReservoirState } from '../../../src/reservoir/state.ts'
import { step } from '../../../src/reservoir/step.ts'

export const MINUTE_MS = 60_000
export const HOUR_MS = 3_600_000
export const DAY_MS = 86_400_000
export const START_MS = Date.parse('2026-03-20T05:00:00Z')
export const NODE = 'bench'

export interface Entry {
  readonly input: Input
  readonly effects: readonly Effect[]
}

type Shot = Extract<Effect, { kind: 'command' }>['shot']

export class LoopBench {
  readonly configuration: Configuration
  readonly settings: ReservoirSettings
  state: ReservoirState
  readonly log: Entry[] = []
  nowMs = START_MS
  boot = 'a1'
  bootAtMs = START_MS - HOUR_MS
  /** what the probes show; a role set to undefined is silent */
  shown: Record<string, number | undefined> = {
    'ec-1': 1.72,
    'ph-1': 5.9,
    'temperature-1': 20,
    'level-1': 208,
    'meter-1': 1000,
    'flow-1': 8,
  }
  /** looks at every step; what it throws fails the test */
  watch: (effects: readonly Effect[]) => void = () => {}
  isNodeSilent = false
  areReportsLost = false
  readonly totals = new Map<string, number>()
  private running: { shot: Shot; endMs: number }[] = []

  constructor(configuration: Configuration, state?: ReservoirState) {
    this.configuration = configuration
    this.settings = reservoirSettings(configuration)
    this.state = state ?? initialReservoirState(this.settings)
    for (const { pump } of configuration.site.stocks) this.totals.set(pump, 0)
  }

  /** Folds one input and carries out its effects; a command starts the pump at once. */
  give(input: Input): readonly Effect[] {
    const stepped = step(this.settings, this.state, input)
    this.state = stepped.state
    this.log.push({ input, effects: stepped.effects })
    this.watch(stepped.effects)
    for (const effect of stepped.effects) if (effect.kind === 'command') this.run(effect.shot)
    return stepped.effects
  }

  start(term = 1): void {
    this.give({ kind: 'start', atMs: this.nowMs, controller: 'tests', term, utcOffsetMin: 0 })
    this.sayOnline()
  }

  instruct(instruction: Instruction, reason = 'a test'): readonly Effect[] {
    return this.give({ kind: 'instruction', atMs: this.nowMs, by: 'Ines', reason, instruction })
  }

  act(act: Act): readonly Effect[] {
    return this.give({ kind: 'act', atMs: this.nowMs, by: 'Ines', act })
  }

  report(result: LaboratoryResult): readonly Effect[] {
    return this.give({ kind: 'laboratory-result', atMs: this.nowMs, by: 'laboratory', result })
  }

  withdraw(id: string): readonly Effect[] {
    return this.give({ kind: 'laboratory-withdrawal', atMs: this.nowMs, by: 'laboratory', id })
  }

  /** Lets minutes pass. */
  minutes(count: number): void {
    for (let minute = 0; minute < count; minute++) this.minute()
  }

  /** The node starts anew; a shot that was under way had run so long. */
  reboot({ ranMs }: { ranMs: number } = { ranMs: 0 }): void {
    for (const { shot } of this.running.splice(0))
      this.totals.set(shot.pump, this.totals.get(shot.pump)! + Math.min(shot.runMs, ranMs))
    this.boot = `${this.boot}-again`
    this.bootAtMs = this.nowMs
    this.sayOnline()
  }

  sayOnline(): void {
    const pumps = [...this.totals.keys()].map((id) => ({ id, maxRunMs: 180_000 }))
    const status = { contract: 1 as const, online: true, boot: this.boot, pumps }
    this.give({ kind: 'node-status', atMs: this.nowMs, node: NODE, status })
  }

  private minute(): void {
    this.nowMs += MINUTE_MS
    if (!this.isNodeSilent) {
      this.finishRuns()
      this.give({ kind: 'heartbeat', atMs: this.nowMs, node: NODE, heartbeat: this.heartbeat() })
      this.give({ kind: 'scan', atMs: this.nowMs, node: NODE, scan: this.scan() })
    }
    this.give({ kind: 'tick', atMs: this.nowMs })
  }

  private heartbeat() {
    const pumps = [...this.totals].map(([id, totalRunMs]) => {
      const run = this.running.find(({ shot }) => shot.pump === id)
      return { id, totalRunMs, doubtMs: 0, ...(run ? { runningId: run.shot.id } : {}) }
    })
    return { boot: this.boot, uptimeMs: this.nowMs - this.bootAtMs, term: 1, pumps }
  }

  private scan() {
    // Hair-thin movement, as any living probe shows; one that stands still for hours counts as stuck.
    const flutter = 1e-3 * Math.sin(this.nowMs / 997_000)
    const readings = this.configuration.site.probes.flatMap(({ id, unit, role }) => {
      const value = this.shown[id]
      return value === undefined ? [] : [{ id, unit, value: role === 'top-up' ? value : value * (1 + flutter) }]
    })
    return { boot: this.boot, uptimeMs: this.nowMs - this.bootAtMs, readings }
  }

  private run(shot: Shot): void {
    const { nowMs: atMs } = this
    this.give({ kind: 'edge', atMs, news: { edge: 'command-sent', commandId: shot.id } })
    this.running.push({ shot, endMs: this.nowMs + shot.runMs })
  }

  private finishRuns(): void {
    const over = this.running.filter(({ endMs }) => endMs <= this.nowMs)
    this.running = this.running.filter(({ endMs }) => endMs > this.nowMs)
    for (const { shot } of over) {
      const totalRunMs = this.totals.get(shot.pump)! + shot.runMs
      this.totals.set(shot.pump, totalRunMs)
      if (this.areReportsLost) continue
      const common = { id: shot.id, boot: this.boot, uptimeMs: this.nowMs - this.bootAtMs }
      const report = { ...common, state: 'done' as const, ranMs: shot.runMs, totalRunMs }
      this.give({ kind: 'pump-report', atMs: this.nowMs, node: NODE, pump: shot.pump, report })
    }
  }
}

export function effectsOf(bench: LoopBench): readonly Effect[] {
  return bench.log.flatMap((entry) => entry.effects)
}

export function recordsOf(entries: readonly Entry[]): readonly LedgerRecord[] {
  return entries.flatMap(({ effects }) =>
    effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : [])),
  )
}

export function inputsOf(bench: LoopBench): readonly Input[] {
  return bench.log.map((entry) => entry.input)
}

/** Runs inputs from a state; what a replay is. */
export function replay(
  settings: ReservoirSettings,
  from: ReservoirState,
  inputs: readonly Input[],
): { readonly state: ReservoirState; readonly effects: readonly string[] } {
  let state = from
  const effects: string[] = []
  for (const input of inputs) {
    const stepped = step(settings, state, input)
    state = stepped.state
    effects.push(JSON.stringify(stepped.effects))
  }
  return { state, effects }
}
