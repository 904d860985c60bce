/** A small site of our own invention, driven by hand: a 220 L reservoir, one node, three nutrient stocks and an acid. */

import type { Happening, Transition } from '../../src/safety/happening.ts'
import { headroom } from '../../src/safety/headroom.ts'
import { type Judgement, judge } from '../../src/safety/judge.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { onAct, type SafetyAct } from '../../src/safety/on-act.ts'
import { type EdgeWord, onEdge } from '../../src/safety/on-edge.ts'
import { onHeartbeat, type PumpBeat } from '../../src/safety/on-heartbeat.ts'
import { onInstruction, type SafetyInstruction } from '../../src/safety/on-instruction.ts'
import { onNodeStatus } from '../../src/safety/on-node-status.ts'
import { onReadings } from '../../src/safety/on-readings.ts'
import { onReport, type Report } from '../../src/safety/on-report.ts'
import { onStart } from '../../src/safety/on-start.ts'
import { onTick } from '../../src/safety/on-tick.ts'
import type { PermittedShot } from '../../src/safety/permitted-shot.ts'
import { type JudgedRow, rebuildBook, rebuildMakeUp, type SettledRow } from '../../src/safety/rebuild.ts'
import { rebuildTotals } from '../../src/safety/rebuild-totals.ts'
import { initialSafetyState, type ReadingQuality, type SafetyState } from '../../src/safety/state.ts'
import type { StockHeadroom } from '../../src/safety/types.ts'

export const SECOND = 1000
export const MINUTE = 60_000
export const HOUR = 3_600_000
export const DAY = 86_400_000

/** Epoch ms at which every bench begins; any moment would do. */
const T0 = 1_800_000_000_000

export const LIMITS: Limits = {
  mode: 'automatic',
  approvalMs: HOUR,
  probes: [
    { id: 'ec-1', node: 'bench', role: 'conductivity', min: 0.5, max: 2.8 },
    { id: 'ph-1', node: 'bench', role: 'ph', min: 4.8, max: 7.2 },
    { id: 'temperature-1', node: 'bench', role: 'temperature', min: 5, max: 35 },
    { id: 'level-1', node: 'bench', role: 'level', min: 0, max: 300 },
    { id: 'flow-1', node: 'bench', role: 'flow', min: 0, max: 60 },
  ],
  notFitted: [],
  notFittedCapShare: 0.5,
  scanAgeMaxMs: 180 * SECOND,
  stuckMs: 6 * HOUR,
  levelMinL: 130,
  levelMaxL: 255,
  flowMinLPerMin: 4,
  flowSteadyMs: 10 * MINUTE,
  heartbeatAgeMaxMs: 90 * SECOND,
  startWindowMs: 60 * SECOND,
  reportGraceMs: 60 * SECOND,
  mixingMs: 25 * MINUTE,
  effect: { notChecked: 'what it bounds is asked of a bench of its own' },
  stocks: [
    stock('calcium', 'pump-1', 500, 5 * MINUTE, [{ from: 'phosphate', ms: 20 * MINUTE }]),
    stock('phosphate', 'pump-2', 500, 5 * MINUTE, [{ from: 'calcium', ms: 20 * MINUTE }]),
    stock('nitrate', 'pump-3', 500, 5 * MINUTE, []),
    {
      ...stock('acid', 'pump-4', 20_000 / 60, 10 * MINUTE, [{ from: 'calcium', ms: 5 * MINUTE }]),
      shotMaxUl: 8000,
      hourMaxUl: 16_000,
      dayMaxUl: 250_000,
      acid: true,
    },
  ],
  acid: {
    meqPerMl: 1,
    reservoirMinL: 200,
    shotMaxMeqPerL: 0.04,
    phFreshMs: 180 * SECOND,
    phFloor: 5.4,
    afterFlowMs: 30 * MINUTE,
  },
}

function stock(name: string, pump: string, rateUlPerS: number, gapMs: number, apart: Limits['stocks'][0]['apart']) {
  const caps = { shotMaxUl: 40_000, hourMaxUl: 80_000, dayMaxUl: 700_000 }
  // A bottle that bounds nothing here; what it bounds is asked of a bench of its own.
  const refill = { bottleUl: 9_000_000, sinceRefillMaxUl: 9_000_000, firstShotUl: 9_000_000 }
  return { stock: name, node: 'bench', pump, rateUlPerS, ...caps, gapMs, apart, refill }
}

const GOOD_WATER = {
  'ec-1': 1.8,
  'ph-1': 6,
  'ph-2': 6,
  'temperature-1': 20,
  'level-1': 220,
  'flow-1': 8,
  'switch-1': 0,
} as const
type ProbeId = keyof typeof GOOD_WATER
export type Water = Partial<Record<ProbeId, number>>

interface PumpMemory {
  totalRunMs: number
  doubtMs: number
  runningId?: string
}

/** Drives safety as a reservoir would, and keeps the records that a ledger would. */
export class Bench {
  limits: Limits
  state: SafetyState
  atMs = T0
  boot = 'boot-1'
  bootedAtMs = T0 - HOUR
  term = 1
  happenings: Happening[] = []
  records: (JudgedRow | SettledRow)[] = []
  pumps: Record<string, PumpMemory> = {}
  /** what every wish is for from now on; none for a plan’s shots */
  purpose: 'ration' | 'calibration' | undefined
  /** of a calibration: by water, or by the stock; a person who says neither is heard as neither */
  withWater: boolean | undefined
  #commands = 0

  constructor(limits: Limits = LIMITS) {
    this.limits = limits
    this.state = initialSafetyState(limits)
    for (const entry of limits.stocks) this.pumps[entry.pump] = { totalRunMs: 1000, doubtMs: 0 }
  }

  get uptimeMs(): number {
    return this.atMs - this.bootedAtMs
  }

  take(transition: Transition): readonly Happening[] {
    this.state = transition.state
    this.happenings.push(...transition.happenings)
    for (const told of transition.happenings) this.#record(told)
    return transition.happenings
  }

  #record(told: Happening): void {
    const { atMs } = this
    if (told.kind === 'settled') this.records.push({ ...told, atMs })
  }

  start(term = this.term): readonly Happening[] {
    this.term = term
    return this.take(onStart(this.limits, this.state, { atMs: this.atMs, controller: 'keeper', term }))
  }

  status(online = true, boot = this.boot, contract = 1): readonly Happening[] {
    const pumps = Object.keys(this.pumps).map((id) => ({ id, maxRunMs: 120_000, group: 'all' }))
    const status = { contract, online, boot, pumps }
    return this.take(onNodeStatus(this.limits, this.state, { atMs: this.atMs, node: 'bench', status }))
  }

  beat(term = this.term): readonly Happening[] {
    const pumps: PumpBeat[] = Object.entries(this.pumps).map(([id, memory]) => ({ id, ...memory }))
    const heartbeat = { boot: this.boot, uptimeMs: this.uptimeMs, term, pumps }
    return this.take(onHeartbeat(this.limits, this.state, { atMs: this.atMs, node: 'bench', heartbeat }))
  }

  /** One scan; the values wiggle in the last digit as those of living probes do, unless they are given. */
  scan(water: Water = {}, quality: ReadingQuality = 'good'): void {
    const wiggle = (this.atMs % 7) * 1e-6
    const readings = this.limits.probes.map((probe) => {
      const id = probe.id as ProbeId
      return { id, role: probe.role, value: water[id] ?? GOOD_WATER[id] + wiggle, quality }
    })
    this.take(onReadings(this.limits, this.state, { atMs: this.atMs, node: 'bench', readings }))
  }

  /** The make-up counter says so many litres. */
  meter(counterL: number, quality: ReadingQuality = 'good'): void {
    const readings = [{ id: 'meter-1', role: 'top-up' as const, value: counterL, quality }]
    this.take(onReadings(this.limits, this.state, { atMs: this.atMs, node: 'bench', readings }))
  }

  /** Lets time pass with heartbeats, scans and ticks every minute. */
  pass(ms: number, water: Water = {}): this {
    const endMs = this.atMs + ms
    while (this.atMs < endMs) {
      this.atMs = Math.min(endMs, this.atMs + MINUTE)
      this.beat()
      this.scan(water)
      this.tick()
    }
    return this
  }

  tick(): readonly Happening[] {
    return this.take(onTick(this.limits, this.state, { atMs: this.atMs }))
  }

  instruct(instruction: SafetyInstruction, reason = 'a test'): readonly Happening[] {
    const row = { atMs: this.atMs, by: 'ines', reason, instruction }
    return this.take(onInstruction(this.limits, this.state, row))
  }

  act(act: SafetyAct['act'], doneAtMs = this.atMs): readonly Happening[] {
    return this.take(onAct(this.limits, this.state, { atMs: this.atMs, act: { act, doneAtMs } as SafetyAct }))
  }

  refill(stockName: string, volumeMl: number, doneAtMs = this.atMs): void {
    const act = { act: 'stock-refilled', stock: stockName, volumeMl, doneAtMs } as const
    this.take(onAct(this.limits, this.state, { atMs: this.atMs, act }))
  }

  edge(news: EdgeWord): readonly Happening[] {
    return this.take(onEdge(this.limits, this.state, { atMs: this.atMs, news }))
  }

  /** What safety says to a wish, without taking its new state. */
  ask(stockName: string, volumeUl: number, planId = 'plan-1', commandId = 'c-asked'): Judgement {
    const purpose = this.purpose === undefined ? {} : { purpose: this.purpose }
    const water = this.withWater === undefined ? {} : { withWater: this.withWater }
    const wish = { stock: stockName, volumeUl, planId, ...purpose, ...water }
    return judge(this.limits, this.state, wish, this.atMs, commandId)
  }

  /** Interlocks that refuse a wish; empty where it is permitted. */
  refusals(stockName: string, volumeUl = 1000, planId = 'plan-1'): readonly string[] {
    const { verdict } = this.ask(stockName, volumeUl, planId)
    return verdict.kind === 'permit' ? [] : verdict.why.map((why) => why.interlock)
  }

  /** Asks and takes the new state; the shot, or null where it was refused. */
  wish(stockName: string, volumeUl: number): PermittedShot | null {
    this.#commands += 1
    const commandId = `c-${this.term}-${this.#commands}`
    const judged = this.ask(stockName, volumeUl, 'plan-1', commandId)
    this.state = judged.state
    const { verdict } = judged
    const shot = verdict.kind === 'permit' ? verdict.shot : verdict.asked
    const why = { verdict: verdict.kind, commandId, figures: verdict.figures, totalRunMs: verdict.totalRunMs }
    const { purpose } = this
    this.records.push({ ...shot, ...why, kind: 'judged', atMs: this.atMs, volumeUl, purpose })
    return verdict.kind === 'permit' ? verdict.shot : null
  }

  mustWish(stockName: string, volumeUl: number): PermittedShot {
    const shot = this.wish(stockName, volumeUl)
    if (shot === null) throw new Error(`the bench expected a permit: ${this.refusals(stockName, volumeUl).join(', ')}`)
    return shot
  }

  /** The pump runs for `ranMs`, unseen until a report or a heartbeat tells. */
  run(pump: string, ranMs: number): void {
    const memory = this.pumps[pump]
    if (memory === undefined) throw new Error(`no pump ${pump}`)
    memory.totalRunMs += ranMs
  }

  report(shot: PermittedShot, state: Report['state'], ranMs: number, change: Partial<Report> = {}) {
    const totalRunMs = this.pumps[shot.pump]?.totalRunMs ?? 0
    const report = { id: shot.id, boot: this.boot, uptimeMs: this.uptimeMs, state, ranMs, totalRunMs, ...change }
    return this.take(onReport(this.limits, this.state, { atMs: this.atMs, node: shot.node, pump: shot.pump, report }))
  }

  /** A shot that runs as asked and is reported so. */
  dose(stockName: string, volumeUl: number): PermittedShot {
    const shot = this.mustWish(stockName, volumeUl)
    this.edge({ edge: 'command-sent', commandId: shot.id })
    this.atMs += shot.runMs
    this.run(shot.pump, shot.runMs)
    this.report(shot, 'done', shot.runMs)
    return shot
  }

  reboot(boot: string): void {
    this.boot = boot
    this.bootedAtMs = this.atMs
    for (const memory of Object.values(this.pumps)) delete memory.runningId
  }

  /** The daemon died with all it knew of deliveries; its records are what is left. */
  die(): void {
    const totals = rebuildTotals(this.limits, initialSafetyState(this.limits), this.records)
    const book = rebuildBook(this.limits, this.records, this.atMs)
    this.state = { ...totals, book, makeUp: rebuildMakeUp(this.limits, this.records, this.atMs) }
  }

  headroom(stockName: string): StockHeadroom {
    const found = headroom(this.limits, this.state, this.atMs).stocks.find((entry) => entry.stock === stockName)
    if (found === undefined) throw new Error(`no headroom for ${stockName}`)
    return found
  }
}

const READY = new Map<Limits, Bench>()

/** A bench on which every shot within the limits is permitted: heard, scanned and circulating for 40 minutes. */
export function readyBench(limits: Limits = LIMITS): Bench {
  const ready = READY.get(limits)
  if (ready !== undefined) return copyOf(ready)
  const bench = new Bench(limits)
  bench.start()
  bench.status()
  bench.beat()
  bench.scan()
  bench.pass(40 * MINUTE)
  READY.set(limits, copyOf(bench))
  return bench
}

/** Makes every bench begin anew: needed where the gate itself has changed since. */
export function forgetReadyBenches(): void {
  READY.clear()
}

/** Another bench at the same point; the state of the gate is never changed in place. */
function copyOf(bench: Bench): Bench {
  const { limits, state, atMs, happenings, records, pumps } = bench
  const twin = Object.assign(new Bench(limits), { state, atMs })
  return Object.assign(twin, structuredClone({ happenings, records, pumps }))
}
