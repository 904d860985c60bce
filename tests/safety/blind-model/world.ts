/** A small world around the gate: nodes with counters, water with probes. What it does is told to both sides. */

import type { Limits } from '../../../src/safety/limits.ts'
import type { ShotWish } from '../../../src/safety/types.ts'
import type { Chance } from './chance.ts'
import { Gate } from './gate.ts'
import { type Item, type PumpCount, type Reading, runMsOf } from './history.ts'
import { lookThrough, type Past } from './past.ts'

export interface WorldPump {
  totalRunMs: number
  doubtMs: number
  runningId: string | null
  maxRunMs: number
  /** its heartbeats leave it out */
  isHidden: boolean
}

export interface WorldNode {
  boot: string
  bootedMs: number
  /** the term it says beyond the daemon’s */
  termMore: number
  contract: number
  online: boolean
  isSilent: boolean
  readonly pumps: Record<string, WorldPump>
}

export interface Sent {
  readonly id: string
  readonly wish: ShotWish
  readonly node: string
  readonly pump: string
  readonly boot: string
  readonly runMs: number
  readonly atMs: number
}

/** Readings that a probe gives instead of the water’s own. */
export interface Wrong {
  readonly value?: number
  readonly quality?: Reading['quality']
  readonly isSilent?: boolean
  readonly isFrozen?: boolean
}

const T0 = 1_800_000_000_000

export class World {
  readonly gate: Gate
  readonly history: Item[] = []
  readonly nodes: Record<string, WorldNode> = {}
  readonly wrong = new Map<string, Wrong>()
  readonly water = { ecDsPerM: 1.8, ph: 6, levelL: 220, flowLPerMin: 8, meterL: 1000 }
  /** commands not yet settled as far as the world cares */
  open: Sent[] = []
  nowMs: number
  term = 1
  boots = 1
  /** what a stock does to conductivity, as a multiple of what is declared */
  readonly strength: Record<string, number> = {}
  noiseDsPerM = 0.002
  meterLPerMin = 0.2
  private lastMs: number
  private past: Past | null = null

  readonly limits: Limits
  readonly chance: Chance

  constructor(limits: Limits, chance: Chance) {
    this.limits = limits
    this.chance = chance
    this.gate = new Gate(limits)
    this.nowMs = T0 + chance.whole(0, 600_000)
    this.lastMs = this.nowMs
    for (const { node, pump, stock } of limits.stocks) {
      this.nodeOf(node).pumps[pump] = {
        totalRunMs: chance.whole(0, 50_000),
        doubtMs: 0,
        runningId: null,
        maxRunMs: 120_000,
        isHidden: chance.often(0.02),
      }
      this.strength[stock] = 1
    }
    for (const { node } of limits.probes) this.nodeOf(node)
  }

  private nodeOf(name: string): WorldNode {
    this.nodes[name] ??= {
      boot: `${name}-1`,
      bootedMs: this.nowMs - 3_600_000,
      termMore: 0,
      contract: 1,
      online: true,
      isSilent: false,
      pumps: {},
    }
    return this.nodes[name]
  }

  tell(item: Item): void {
    this.history.push(item)
    this.gate.tell(item)
    this.past = null
  }

  /** What the model makes of the history so far. */
  lookBack(): Past {
    this.past ??= lookThrough(this.history, this.limits)
    return this.past
  }

  start(term = this.term): void {
    this.term = Math.max(this.term, Number.isSafeInteger(term) ? term : 0)
    this.tell({ what: 'start', atMs: this.nowMs, term })
  }

  status(name: string, withPumps = true): void {
    const { boot, contract, online, pumps } = this.nodeOf(name)
    const declared = Object.entries(pumps).map(([id, { maxRunMs }]) => ({ id, maxRunMs }))
    const { nowMs: atMs } = this
    this.tell({
      what: 'status',
      atMs,
      node: name,
      contract,
      online,
      boot,
      pumps: online && withPumps ? declared : null,
    })
  }

  beat(name: string, isRepeat = false): void {
    const node = this.nodeOf(name)
    const shown = Object.entries(node.pumps).filter(([, { isHidden }]) => !isHidden)
    const pumps: PumpCount[] = shown.map(([id, { totalRunMs, doubtMs, runningId }]) => ({
      id,
      totalRunMs,
      doubtMs,
      runningId,
    }))
    const { boot, bootedMs, termMore } = node
    const uptimeMs = this.nowMs - bootedMs - (isRepeat ? this.chance.pick([0, 1, 20_000]) : 0)
    this.tell({ what: 'heartbeat', atMs: this.nowMs, node: name, boot, uptimeMs, term: this.term + termMore, pumps })
  }

  /** A node comes up anew; what ran at the time is doubtful. */
  reboot(name: string, doubtMs: number, pump: string | null): void {
    const node = this.nodeOf(name)
    this.boots += 1
    node.boot = `${name}-${this.boots}`
    node.bootedMs = this.nowMs - this.chance.whole(0, 5000)
    for (const [id, one] of Object.entries(node.pumps)) {
      if (id === pump) one.doubtMs += doubtMs
      one.runningId = null
    }
  }

  /** @param unread a probe or counter that is left out */
  scan(unread?: string): void {
    const minutes = (this.nowMs - this.lastMs) / 60_000
    this.lastMs = this.nowMs
    this.water.meterL += this.meterLPerMin * minutes
    for (const node of Object.keys(this.nodes)) {
      const readings: Reading[] = []
      for (const { id, role } of this.limits.probes) {
        if (id === unread) continue
        if (this.limits.probes.find((one) => one.id === id)!.node === node) this.read(readings, id, role)
      }
      const { meter } = this.limits
      const isMeterLeft = meter?.node === node && meter.id !== unread && !readings.some((one) => one.id === meter.id)
      if (isMeterLeft) this.read(readings, meter.id, 'top-up')
      if (readings.length > 0) this.tell({ what: 'scan', atMs: this.nowMs, node, readings })
    }
  }

  private readonly shown = new Map<string, number>()

  private read(readings: Reading[], id: string, role: string): void {
    const wrong = this.wrong.get(id)
    if (wrong?.isSilent === true) return
    const { ecDsPerM, ph, levelL, flowLPerMin, meterL } = this.water
    const noise = this.chance.share() - 0.5
    const own: Readonly<Record<string, number>> = {
      conductivity: ecDsPerM + noise * 3.5 * this.noiseDsPerM,
      ph: ph + noise * 0.02,
      temperature: 20 + noise * 0.1,
      level: levelL + noise * 0.4,
      flow: flowLPerMin + noise * 0.2,
      'hold-switch': 0,
      'top-up': Math.floor(meterL * 100) / 100,
    }
    const frozen = wrong?.isFrozen === true ? this.shown.get(id) : undefined
    const value = wrong?.value ?? frozen ?? own[role] ?? NaN
    this.shown.set(id, value)
    readings.push({ id, value, quality: wrong?.quality ?? 'good' })
  }

  /** Scans and heartbeats as they come, and a tick. */
  live(): void {
    this.scan()
    for (const [name, node] of Object.entries(this.nodes)) if (!node.isSilent) this.beat(name)
    this.tell({ what: 'tick', atMs: this.nowMs })
  }

  /** Time goes on, with enough scans on the way that nothing is lost sight of, unless that were too many. */
  goTo(atMs: number): void {
    if (!(atMs > this.nowMs)) return
    const { scanAgeMaxMs } = this.limits
    const stepMs = scanAgeMaxMs > 20_000 && scanAgeMaxMs < 2 * 3_600_000 ? scanAgeMaxMs * 0.48 : 120_000
    for (let left = 14; left > 0 && atMs - this.nowMs > stepMs; left -= 1) {
      this.nowMs += stepMs
      this.live()
    }
    this.nowMs = atMs
  }

  /** A permitted wish becomes a command on both sides. */
  sent(id: string, wish: ShotWish): void {
    const entry = this.limits.stocks.find((one) => one.stock === wish.stock)!
    const { node, pump, stock } = entry
    const rate = this.gate.state.ratesUlPerS[stock] ?? entry.rateUlPerS
    const { nowMs: atMs } = this
    this.open.push({ id, wish, node, pump, boot: this.nodeOf(node).boot, runMs: runMsOf(wish.volumeUl, rate), atMs })
    this.history.push({ what: 'command', atMs, id, wish })
    this.past = null
  }

  /** A pump runs: its counter grows, and the water feels it. */
  run(sent: Sent, ranMs: number): void {
    const pump = this.nodeOf(sent.node).pumps[sent.pump]!
    pump.totalRunMs += ranMs
    if (sent.wish.purpose === 'calibration' || !(sent.runMs > 0)) return
    const { dsPerMPerMlPerL = 0 } = this.limits.stocks.find((one) => one.stock === sent.wish.stock)?.effect ?? {}
    const ml = (sent.wish.volumeUl / 1000) * (ranMs / sent.runMs)
    const rise = (dsPerMPerMlPerL * ml * (this.strength[sent.wish.stock] ?? 1)) / this.water.levelL
    if (Number.isFinite(rise)) this.water.ecDsPerM += rise
  }
}
