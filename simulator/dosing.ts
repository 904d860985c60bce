// The pumps and the bottles they draw from, as they truly are: none has exactly the rate or the strength on its label.

import { ELEMENT_INDEX, type ElementName } from '../src/chemistry/element.ts'
import { formulaElements, molarMassGPerMol } from '../src/chemistry/molar-mass.ts'
import type { FaultBoard } from './faults.ts'
import { createRandom } from './random.ts'
import type { PumpScenario, Scenario } from './scenario.ts'
import { SOLUTE_COUNT, type Solutes, solutesFromMg, UNTRACKED } from './solution.ts'

const WEEK_MS = 7 * 86_400_000
const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000

export interface PumpTruth {
  /** time the rotor really turned */
  readonly ranMs: number
  readonly deliveredMl: number
  readonly runs: number
}

interface Pump {
  readonly scenario: PumpScenario
  readonly gain: number
  strength: number
  leftMl: number
  on: boolean
  ranMs: number
  deliveredMl: number
  runs: number
}

export interface Delivery {
  readonly ml: number
  readonly mmol: Solutes
  readonly saltG: number
}

export interface Dosing {
  set(pump: string, on: boolean): void
  anyOn(): boolean
  /** What flows in during a step of constant state; undefined for nothing at all. */
  step(atMs: number, stepMs: number): Delivery | undefined
  /** A new batch in the bottle: full, with an error of its own. */
  refill(pump: string): void
  truth(): Record<string, PumpTruth>
}

/** All pumps of all nodes. Errors are drawn per pump (rate) and per batch (strength). */
export function createDosing(scenario: Scenario, seed: number, startMs: number, faults: FaultBoard): Dosing {
  const random = createRandom(seed, 'dosing')
  const { spread } = scenario
  const drawStrength = () => Math.exp(spread.stockStrength * random.normal())
  const pumps = scenario.nodes
    .flatMap((node) => node.pumps)
    .map(
      (pump): Pump => ({
        scenario: pump,
        gain: 1 + spread.pumpGain * random.normal(),
        strength: drawStrength(),
        leftMl: pump.stock.bottleMl ?? Infinity,
        on: false,
        ranMs: 0,
        deliveredMl: 0,
        runs: 0,
      }),
    )
  const contents = new Map(
    pumps.map(({ scenario: { id, stock } }) => [id, { mmolPerMl: stockMmolPerMl(stock), gPerMl: saltGPerMl(stock) }]),
  )
  const byId = new Map(pumps.map((pump) => [pump.scenario.id, pump]))
  const need = (id: string) => {
    const pump = byId.get(id)
    if (!pump) throw new Error(`the plant has no pump '${id}'`)
    return pump
  }

  /** Which bottle the hose of this pump hangs in. */
  const bottleOf = (id: string) => {
    const swap = faults.find('stocks-swapped')
    if (swap?.pump === id) return swap.with
    return swap?.with === id ? swap.pump : id
  }

  const flowMl = (pump: Pump, atMs: number, stepMs: number) => {
    const { id, rateMlPerMin } = pump.scenario
    const siphon = faults.find('siphon', id)
    const drawn = siphon ? (siphon.mlPerHour * stepMs) / HOUR_MS : 0
    if (!pump.on || faults.find('pump-jammed', id)) return drawn
    const wear = 1 - (spread.pumpWearPerWeek * (atMs - startMs)) / WEEK_MS
    return drawn + (rateMlPerMin * pump.gain * wear * (faults.find('pump-weak', id)?.factor ?? 1) * stepMs) / MINUTE_MS
  }

  return {
    set(id, on) {
      const pump = need(id)
      if (!on && pump.on && faults.find('pump-runs-on', id)) return
      if (on && !pump.on) pump.runs += 1
      pump.on = on
    },
    anyOn: () => pumps.some((pump) => pump.on),
    step(atMs, stepMs) {
      let total: { ml: number; mmol: Solutes; saltG: number } | undefined
      for (const pump of pumps) {
        if (pump.on) pump.ranMs += stepMs
        const bottle = need(bottleOf(pump.scenario.id))
        const empty = faults.find('stock-empty', bottle.scenario.id)
        const ml = empty ? 0 : Math.min(flowMl(pump, atMs, stepMs), bottle.leftMl)
        if (ml <= 0) continue
        bottle.leftMl -= ml
        pump.deliveredMl += ml
        total ??= { ml: 0, mmol: new Float64Array(SOLUTE_COUNT), saltG: 0 }
        const strength = bottle.strength * (faults.find('stock-strength', bottle.scenario.id)?.factor ?? 1)
        addStock(total, contents.get(bottle.scenario.id)!, ml, strength)
      }
      return total
    },
    refill(id) {
      const pump = need(id)
      pump.leftMl = pump.scenario.stock.bottleMl ?? Infinity
      pump.strength = drawStrength()
    },
    truth: () =>
      Object.fromEntries(
        pumps.map(({ scenario: { id }, ranMs, deliveredMl, runs }) => [id, { ranMs, deliveredMl, runs }]),
      ),
  }
}

function addStock(
  total: { ml: number; mmol: Solutes; saltG: number },
  stock: { mmolPerMl: Solutes; gPerMl: number },
  ml: number,
  strength: number,
): void {
  total.ml += ml
  total.saltG += stock.gPerMl * ml * strength
  for (let at = 0; at < SOLUTE_COUNT; at += 1) total.mmol[at]! += stock.mmolPerMl[at]! * ml * strength
}

/** mmol in one mL of a stock as labelled. An acid or a salt by its formula, anything else by element. */
export function stockMmolPerMl(stock: PumpScenario['stock']): Solutes {
  const total = solutesFromMg(stock.elements)
  total[UNTRACKED] = stock.untrackedMeqPerMl
  for (const { formula, gPerL } of stock.salts) {
    const salt = saltMmol(formula, gPerL / 1000)
    for (let at = 0; at < SOLUTE_COUNT; at += 1) total[at]! += salt[at]!
  }
  return total
}

function saltGPerMl(stock: PumpScenario['stock']): number {
  return (stock.otherGPerL + stock.salts.reduce((sum, { gPerL }) => sum + gPerL, 0)) / 1000
}

/** Elements of a mass of a pure salt, mmol. Throws where the formula cannot be read. */
export function saltMmol(formula: string, massG: number): Solutes {
  const mass = molarMassGPerMol(formula)
  const elements = formulaElements(formula)
  if (mass.kind !== 'molar-mass') throw new Error(`${formula}: ${mass.problem}`)
  if (elements.kind !== 'elements') throw new Error(`${formula}: ${elements.problem}`)
  const solutes = new Float64Array(SOLUTE_COUNT)
  for (const [name, count] of Object.entries(elements.molPerMol)) {
    solutes[ELEMENT_INDEX[name as ElementName]] = (count * massG * 1000) / mass.gPerMol
  }
  return solutes
}
