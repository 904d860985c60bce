// The pumps and the bottles they draw from, as they truly are: none has exactly the rate or the strength on its label.

import type { FaultBoard } from './faults.ts'
import { createRandom, type RandomStream } from './random.ts'
import type { PumpScenario, Scenario, Spread } from './scenario.ts'
import { SOLUTE_COUNT, type Solutes } from './solution.ts'
import { saltGPerMl, stockMmolPerMl } from './stock.ts'

const WEEK_MS = 7 * 86_400_000
const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000

export interface PumpTruth {
  /** time the rotor really turned */
  readonly ranMs: number
  readonly deliveredMl: number
  readonly runs: number
}

export interface Delivery {
  readonly ml: number
  readonly mmol: Solutes
  readonly saltG: number
}

interface Pump {
  readonly scenario: PumpScenario
  /** of the bottle that belongs to it, as labelled */
  readonly mmolPerMl: Solutes
  readonly saltGPerMl: number
  /** true rate over labelled rate when new */
  readonly gain: number
  /** true strength over labelled strength of the batch in its bottle */
  strength: number
  leftMl: number
  on: boolean
  ranMs: number
  deliveredMl: number
  runs: number
}

/** All pumps of all nodes. Errors are drawn once per pump (rate) and once per batch (strength). */
export class Dosing {
  private readonly pumps: readonly Pump[]
  private readonly spread: Spread
  private readonly random: RandomStream
  private readonly startMs: number
  private readonly faults: FaultBoard

  constructor(scenario: Scenario, seed: number, startMs: number, faults: FaultBoard) {
    this.spread = scenario.spread
    this.random = createRandom(seed, 'dosing')
    this.startMs = startMs
    this.faults = faults
    this.pumps = scenario.nodes.flatMap((node) => node.pumps).map((pump) => this.newPump(pump))
  }

  /** Switches a motor; a relay that sticks leaves it on. */
  set(id: string, on: boolean): void {
    const pump = this.need(id)
    if (!on && pump.on && this.faults.find('pump-runs-on', id)) return
    if (on && !pump.on) pump.runs += 1
    pump.on = on
  }

  /** What flows in during a step of constant state; undefined for nothing at all. */
  step(atMs: number, stepMs: number): Delivery | undefined {
    let total: { ml: number; mmol: Solutes; saltG: number } | undefined
    for (const pump of this.pumps) {
      if (pump.on) pump.ranMs += stepMs
      const bottle = this.bottleOf(pump)
      const empty = this.faults.find('stock-empty', bottle.scenario.id)
      const ml = empty ? 0 : Math.min(this.drawnMl(pump, atMs, stepMs), bottle.leftMl)
      if (ml <= 0) continue
      bottle.leftMl -= ml
      pump.deliveredMl += ml
      const strength = bottle.strength * (this.faults.find('stock-strength', bottle.scenario.id)?.factor ?? 1)
      total ??= { ml: 0, mmol: new Float64Array(SOLUTE_COUNT), saltG: 0 }
      total.ml += ml
      total.saltG += bottle.saltGPerMl * ml * strength
      for (let at = 0; at < SOLUTE_COUNT; at += 1) total.mmol[at]! += bottle.mmolPerMl[at]! * ml * strength
    }
    return total
  }

  /** A new batch in the bottle: full, with an error of its own. */
  refill(id: string): void {
    const pump = this.need(id)
    pump.leftMl = pump.scenario.stock.bottleMl ?? Infinity
    pump.strength = this.drawStrength()
  }

  truth(): Record<string, PumpTruth> {
    return Object.fromEntries(
      this.pumps.map(({ scenario: { id }, ranMs, deliveredMl, runs }) => [id, { ranMs, deliveredMl, runs }]),
    )
  }

  private newPump(scenario: PumpScenario): Pump {
    const { stock } = scenario
    return {
      scenario,
      mmolPerMl: stockMmolPerMl(stock),
      saltGPerMl: saltGPerMl(stock),
      gain: 1 + this.spread.pumpGain * this.random.normal(),
      strength: this.drawStrength(),
      leftMl: stock.bottleMl ?? Infinity,
      ...{ on: false, ranMs: 0, deliveredMl: 0, runs: 0 },
    }
  }

  private drawStrength(): number {
    return Math.exp(this.spread.stockStrength * this.random.normal())
  }

  private drawnMl(pump: Pump, atMs: number, stepMs: number): number {
    const { id, rateMlPerMin } = pump.scenario
    const siphon = this.faults.find('siphon', id)
    const seeped = siphon ? (siphon.mlPerHour * stepMs) / HOUR_MS : 0
    if (!pump.on || this.faults.find('pump-jammed', id)) return seeped
    const wear = 1 - (this.spread.pumpWearPerWeek * (atMs - this.startMs)) / WEEK_MS
    const weak = this.faults.find('pump-weak', id)?.factor ?? 1
    return seeped + (rateMlPerMin * pump.gain * wear * weak * stepMs) / MINUTE_MS
  }

  /** Which bottle the hose of this pump hangs in. */
  private bottleOf(pump: Pump): Pump {
    const swap = this.faults.find('stocks-swapped')
    if (swap?.pump === pump.scenario.id) return this.need(swap.with)
    return swap?.with === pump.scenario.id ? this.need(swap.pump) : pump
  }

  private need(id: string): Pump {
    const pump = this.pumps.find(({ scenario }) => scenario.id === id)
    if (!pump) throw new Error(`the plant has no pump '${id}'`)
    return pump
  }
}
