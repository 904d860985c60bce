// The physics of the plant put together: water, salts, crop, air and time, a minute a step.

import type { Composition, ElementName } from '../src/chemistry/element.ts'
import { alkalinityLeftMeq, createStand, type Stand, uptakeOf } from './crop.ts'
import { Dosing, type PumpTruth } from './dosing.ts'
import { type Equilibria, equilibriaAt } from './equilibria.ts'
import type { FaultBoard } from './faults.ts'
import { conductivityDsPerM, type Mobilities, mobilitiesAt } from './mobility.ts'
import type { Senses } from './probes.ts'
import { createRandom, type RandomStream } from './random.ts'
import { drawRates, exudeMeqPerL, react, type SiteRates } from './reactions.ts'
import type { Scenario } from './scenario.ts'
import { alkalinityOf, CARBON, mgPerLOf, mmolPerLOf, SOLUTE_COUNT, type Solutes, UNTRACKED } from './solution.ts'
import { createSource, drawFill } from './source.ts'
import { type Speciation, speciate } from './speciation.ts'
import { saltMmol } from './stock.ts'
import {
  circulate,
  contentOf,
  drawOff,
  FILM_LEFT,
  fillTank,
  filmConcentration,
  pourIn,
  type Tank,
  tankConcentration,
  volumeOf,
} from './tank.ts'
import { createWeather, type Weather } from './weather.ts'

export const STEP_MS = 60_000
const HOUR_MS = 3_600_000
const MINUTE_MS = 60_000
const DAY_MS = 86_400_000
const AT_25 = mobilitiesAt(25)

/** Where everything came from and went to since the start, mmol in the order of the solution vector. */
export interface Accounts {
  readonly brought: Solutes
  readonly taken: Solutes
  /** by reactions; negative where they made some, as nitrification makes nitrate */
  readonly lost: Solutes
  readonly discharged: Solutes
}

export interface PlantTruth {
  readonly atMs: number
  /** tank and film together */
  readonly volumeL: number
  readonly tankL: number
  /** of everything there is, dose just poured in included */
  readonly mgPerL: Readonly<Record<ElementName, number>>
  readonly mmolPerL: Readonly<Record<ElementName, number>>
  /** of the stirred tank alone: what a bottle or a probe meets */
  readonly tankMgPerL: Readonly<Record<ElementName, number>>
  readonly untrackedMeqPerL: number
  readonly alkalinityMeqPerL: number
  readonly ph: number
  readonly conductivityDsPerM: number
  readonly temperatureC: number
  readonly pumps: Readonly<Record<string, PumpTruth>>
  /** transpired and evaporated */
  readonly waterUsedL: number
  readonly transpiredL: number
  readonly topUpL: number
  readonly dischargedL: number
  readonly saltG: number
}

/** A plant that lives: advance it, switch its pumps, ask what is true. Changed only through its own methods. */
export class Plant {
  readonly dosing: Dosing
  private readonly scenario: Scenario
  private readonly faults: FaultBoard
  private readonly startMs: number
  private readonly stand: Stand
  private readonly weatherAt: (atMs: number) => Weather
  private readonly sourceAt: (atMs: number) => Solutes
  private readonly rates: SiteRates
  private readonly random: RandomStream
  private readonly accounts: Accounts
  private tank: Tank
  private weather: Weather
  private speciation: Speciation
  private equilibria: Equilibria
  private mobilities: Mobilities
  private valveOpen = false
  private atMs: number
  private readonly litres = { transpired: 0, evaporated: 0, topUp: 0, discharged: 0 }
  private saltG = 0

  constructor(scenario: Scenario, seed: number, startMs: number, faults: FaultBoard) {
    this.scenario = scenario
    this.faults = faults
    this.startMs = startMs
    this.atMs = startMs
    this.random = createRandom(seed, 'plant')
    this.rates = drawRates(this.random)
    this.dosing = new Dosing(scenario, seed, startMs, faults)
    this.stand = createStand(scenario, seed, startMs)
    this.weatherAt = createWeather(scenario, seed, startMs)
    this.sourceAt = createSource(scenario, seed, startMs)
    const { volumeL, filmL } = scenario.reservoir
    this.tank = fillTank(volumeL, filmL, drawFill(scenario.firstFill, scenario.spread.untrackedMeqPerL, this.random))
    this.accounts = { brought: contentOf(this.tank), taken: empty(), lost: empty(), discharged: empty() }
    this.weather = this.weatherAt(startMs)
    this.equilibria = equilibriaAt(this.weather.temperatureC)
    this.mobilities = mobilitiesAt(this.weather.temperatureC)
    this.speciation = speciate(tankConcentration(this.tank), this.equilibria)
  }

  /** Moves time on in whole minutes of the plant's own grid, and to `toMs` itself with a shorter last step. */
  advance(toMs: number): void {
    while (this.atMs < toMs) {
      const gridMs = this.startMs + (Math.floor((this.atMs - this.startMs) / STEP_MS) + 1) * STEP_MS
      this.step(Math.min(gridMs, toMs) - this.atMs)
    }
  }

  /** The last whole minute at or before a time: how far probes and bottles see. */
  gridMs(atMs: number): number {
    return this.startMs + Math.floor((atMs - this.startMs) / STEP_MS) * STEP_MS
  }

  senses(): Senses {
    return {
      conductivityAtTDsPerM: conductivityDsPerM(this.speciation, this.mobilities),
      ph: this.speciation.ph,
      temperatureC: this.temperatureC(),
      tankL: this.tank.tankL,
      topUpL: this.litres.topUp,
      flowLPerMin: this.flowLPerMin(),
    }
  }

  /** mmol/L of the stirred tank. */
  bottle(): Solutes {
    return tankConcentration(this.tank)
  }

  truth(): PlantTruth {
    const volumeL = volumeOf(this.tank)
    const perL = contentOf(this.tank).map((amount) => amount / volumeL)
    const { transpired, evaporated, topUp, discharged } = this.litres
    return {
      atMs: this.atMs,
      volumeL,
      tankL: this.tank.tankL,
      mgPerL: mgPerLOf(perL),
      mmolPerL: mmolPerLOf(perL),
      tankMgPerL: mgPerLOf(this.bottle()),
      untrackedMeqPerL: perL[UNTRACKED]!,
      alkalinityMeqPerL: alkalinityOf(perL),
      ph: this.speciation.ph,
      conductivityDsPerM: conductivityDsPerM(this.speciation, AT_25),
      temperatureC: this.temperatureC(),
      pumps: this.dosing.truth(),
      waterUsedL: transpired + evaporated,
      transpiredL: transpired,
      topUpL: topUp,
      dischargedL: discharged,
      saltG: this.saltG,
    }
  }

  /** The book of amounts since the start, with what is there now; brought = there + taken + lost + discharged. */
  book(): Accounts & { readonly there: Solutes; readonly chargeResidualMolPerL: number } {
    const copy = (solutes: Solutes) => Float64Array.from(solutes)
    const { brought, taken, lost, discharged } = this.accounts
    return {
      brought: copy(brought),
      taken: copy(taken),
      lost: copy(lost),
      discharged: copy(discharged),
      there: contentOf(this.tank),
      chargeResidualMolPerL: this.speciation.residual,
    }
  }

  /** A person lets water go; returns the litres that really went. */
  drain(volumeL: number): number {
    const litres = Math.min(volumeL, this.tank.tankL - 1)
    this.discharge(litres)
    this.respeciate()
    return litres
  }

  /** A person fills up to the mark: with a solution of these mg/L at a pH, or with plain make-up water. */
  refill(elements?: Composition, ph = this.scenario.firstFill.ph): number {
    const missingL = Math.max(0, this.scenario.reservoir.volumeL - volumeOf(this.tank))
    const { relativeSd } = this.scenario.firstFill
    const spread = this.scenario.spread.untrackedMeqPerL
    const water = elements ? drawFill({ elements, ph, relativeSd }, spread, this.random) : this.sourceNow()
    this.bring(missingL, water)
    this.respeciate()
    return missingL
  }

  /** Everything is let go and the system filled anew by the recipe of the first fill, with an error of its own. */
  replaceAll(): void {
    const { filmL, volumeL } = this.scenario.reservoir
    add(this.accounts.discharged, contentOf(this.tank), 1)
    this.litres.discharged += volumeOf(this.tank)
    const water = drawFill(this.scenario.firstFill, this.scenario.spread.untrackedMeqPerL, this.random)
    this.tank = fillTank(volumeL, filmL, water)
    add(this.accounts.brought, contentOf(this.tank), 1)
    this.respeciate()
  }

  /** A person stirs in a weighed salt, named by its formula. */
  addSalt(formula: string, massG: number): void {
    const mmol = saltMmol(formula, massG)
    add(this.tank.unmixed, mmol, 1)
    add(this.accounts.brought, mmol, 1)
    this.saltG += massG
  }

  private step(stepMs: number): void {
    const { reservoir } = this.scenario
    const before = this.atMs
    this.weather = this.weatherAt(before)
    this.dose(before, stepMs)
    circulate(this.tank, {
      stepMs,
      flowLPerMin: this.flowLPerMin(),
      filmFullL: reservoir.filmL,
      mixingMs: reservoir.mixingMin * MINUTE_MS * (this.faults.find('slow-mixing')?.factor ?? 1),
    })
    this.topUp(stepMs)
    this.drink(stepMs)
    this.leave(stepMs)
    this.atMs = before + stepMs
    this.respeciate()
    this.change(stepMs)
    if (Math.floor(before / HOUR_MS) !== Math.floor(this.atMs / HOUR_MS)) this.exude()
  }

  private dose(atMs: number, stepMs: number): void {
    const delivery = this.dosing.step(atMs, stepMs)
    if (!delivery) return
    this.tank.tankL += delivery.ml / 1000
    add(this.tank.unmixed, delivery.mmol, 1)
    add(this.accounts.brought, delivery.mmol, 1)
    this.saltG += delivery.saltG
  }

  /** A float valve with a band; what passes it is metered. */
  private topUp(stepMs: number): void {
    const { volumeL, filmL } = this.scenario.reservoir
    const { bandL, rateLPerMin } = this.scenario.topUp
    const fullL = volumeL - filmL
    const stuckOpen = this.faults.find('top-up-stuck-open') !== undefined
    if (this.tank.tankL < fullL - bandL) this.valveOpen = true
    if (this.tank.tankL >= fullL - 1e-6) this.valveOpen = false
    if (this.faults.find('top-up-stuck-closed') || !(this.valveOpen || stuckOpen)) return
    const most = (rateLPerMin * stepMs) / MINUTE_MS
    const litres = stuckOpen ? most : Math.min(most, fullL - this.tank.tankL)
    this.litres.topUp += litres
    this.bring(litres, this.sourceNow())
  }

  private sourceNow(): Solutes {
    const water = this.sourceAt(this.atMs)
    const factor = this.faults.find('source-change')?.factor
    return factor === undefined ? water : water.map((amount) => amount * factor)
  }

  private bring(litres: number, mmolPerL: Solutes): void {
    pourIn(this.tank, litres, mmolPerL)
    add(this.accounts.brought, mmolPerL, litres)
  }

  /** The crop drinks from the film: where that is nearly gone, it wilts instead. */
  private drink(stepMs: number): void {
    const film = filmConcentration(this.tank)
    const waterFactor = this.faults.find('heat-wave')?.waterFactor ?? 1
    const facts = { filmMmolPerL: film, weather: this.weather, stepMs, waterFactor }
    const ordinary = this.stand.ordinaryLPerDay(this.atMs)
    this.stand.crops.forEach((crop, at) => {
      if (!(ordinary[at]! > 0)) return
      const wanted = uptakeOf(crop, ordinary[at]!, facts)
      const dryL = this.scenario.reservoir.filmL * FILM_LEFT * 0.2
      const waterL = Math.min(wanted.waterL, Math.max(0, this.tank.filmL - dryL))
      this.tank.filmL -= waterL
      this.litres.transpired += waterL
      this.take(wanted.mmol)
    })
  }

  /** Never more than half of what the film holds in one step. Half of the alkalinity comes back as bicarbonate. */
  private take(wanted: Solutes): void {
    const taken = wanted.map((mmol, at) => Math.max(0, Math.min(mmol, this.tank.film[at]! * 0.5)))
    taken[UNTRACKED] = 0
    taken[CARBON] = -0.5 * Math.max(0, alkalinityLeftMeq(taken))
    add(this.tank.film, taken, -1)
    add(this.accounts.taken, taken, 1)
  }

  /** Water that leaves without the crop: to the air, over the edge, through a leak. */
  private leave(stepMs: number): void {
    const { evaporationLPerDay, overflowL } = this.scenario.reservoir
    const evaporated = Math.min((evaporationLPerDay * stepMs) / DAY_MS, this.tank.tankL - 1)
    this.tank.tankL -= evaporated
    this.litres.evaporated += evaporated
    const leak = this.faults.find('leak')
    const leaked = leak ? Math.min((leak.litresPerHour * stepMs) / HOUR_MS, Math.max(0, this.tank.tankL - 1)) : 0
    const over = Math.max(0, this.tank.tankL - leaked - overflowL)
    if (leaked + over > 0) this.discharge(leaked + over)
  }

  private discharge(litres: number): void {
    add(this.accounts.discharged, drawOff(this.tank, litres), 1)
    this.litres.discharged += litres
  }

  private change(stepMs: number): void {
    const change = react(this.tank.tank, this.rates, {
      stepMs,
      litres: this.tank.tankL,
      speciation: this.speciation,
      equilibria: this.equilibria,
      logPco2: this.weather.logPco2,
    })
    add(this.tank.tank, change, 1)
    add(this.accounts.lost, change, -1)
  }

  private exude(): void {
    const meqPerL = exudeMeqPerL(this.bottle(), this.random, this.scenario.spread.untrackedMeqPerL)
    this.tank.tank[UNTRACKED]! += meqPerL * this.tank.tankL
    this.accounts.brought[UNTRACKED]! += meqPerL * this.tank.tankL
  }

  private flowLPerMin(): number {
    if (this.faults.find('flow-stop')) return 0
    return this.scenario.reservoir.flowLPerMin * (this.faults.find('flow-weak')?.factor ?? 1)
  }

  private temperatureC(): number {
    return this.weather.temperatureC + (this.faults.find('heat-wave')?.warmerC ?? 0)
  }

  private respeciate(): void {
    const temperatureC = this.temperatureC()
    // Constants are good for a twentieth of a degree; making them anew each minute would cost more than the chemistry.
    if (Math.abs(temperatureC - this.equilibria.temperatureC) > 0.05) {
      this.equilibria = equilibriaAt(temperatureC)
      this.mobilities = mobilitiesAt(temperatureC)
    }
    this.speciation = speciate(this.bottle(), this.equilibria, this.speciation)
  }
}

function empty(): Solutes {
  return new Float64Array(SOLUTE_COUNT)
}

function add(to: Solutes, what: Solutes, times: number): void {
  for (let at = 0; at < SOLUTE_COUNT; at += 1) to[at]! += what[at]! * times
}
