import { type Acidity, CO2_OF_AIR_MMOL_PER_L, solveAcidity } from './acidity.ts'
import { conduct } from './conductance.ts'
import { noSolutes, type OpenSolutes, SOLUTES, type Solute, type Solutes } from './ion.ts'
import type { Lettuce } from './lettuce.ts'
import type { Stock } from './supply.ts'

const HOUR_MS = 3_600_000
const STEP_MS = 20_000
const TOTAL_L = 220
const FILM_L = 12
const FILM_HOURS = 3 / 60
const MIXING_HOURS = 10 / 60
const AIR_HOURS = 1

/** The float valve: litres standing in the tank at which it opens and shuts, and what it lets through. */
const VALVE_OPENS_L = 207.4
const VALVE_SHUTS_L = 208.1
const VALVE_L_PER_HOUR = 180

/** Slow losses per day and pH unit above 6.6: calcium phosphate and iron hydroxide (judgement; 0.5-2 %/day is reported). */
const SCALE_FROM_PH = 6.6
const SCALE_PER_HOUR = 0.012 / 24
/** Calcite: log of the solubility product at about 20 mmol/L of salts, and a slow approach from above three times saturation. */
const CALCITE_LOG_K_MMOL2 = -8.48 + 6 + 0.85
const CALCITE_MMOL_PER_L_HOUR = 0.01

export interface DosingLine {
  readonly stock: Stock
  /** what the pump really moves, as a part of its plate */
  readonly gain: number
}

export interface Water {
  readonly mmolPerL: Solutes
  readonly acidity: Acidity
  /** at 25 °C */
  readonly mSPerCm: number
}

export interface ReservoirAccounts {
  readonly volumeL: number
  readonly standingL: number
  readonly transpiredL: number
  readonly makeUpL: number
  readonly pumpSeconds: Readonly<Record<string, number>>
  readonly mmol: Solutes
  readonly takenMmol: Solutes
  readonly settledMmol: Solutes
  /** what came out of the air; less than 0 where more left */
  readonly airMmol: number
  readonly drainedL: number
}

export interface Reservoir {
  advanceTo(atMs: number): void
  /** at the moment advanced to */
  switchPump(pump: string, on: boolean): void
  circulate(on: boolean): void
  /** a person lets solution go; the float valve fills up again */
  drain(litres: number): void
  /** the whole, as a bottle drawn from a stirred tank */
  water(): Water
  /** what the probes are bathed in: it follows the whole by about ten minutes */
  waterAtProbes(): Water
  accounts(): ReservoirAccounts
}

export interface ReservoirParts {
  readonly startMs: number
  readonly fill: Solutes
  readonly makeUp: Solutes
  readonly lines: Readonly<Record<string, DosingLine>>
  readonly lettuce: Lettuce
}

/** A stirred tank with a float valve, four dosing lines and a bed of lettuce; steps of at most 20 s, forward Euler. */
export function fillReservoir({ startMs, fill, makeUp, lines, lettuce }: ReservoirParts): Reservoir {
  let nowMs = startMs
  let volumeL = TOTAL_L
  let filmL = FILM_L
  let circulating = true
  let valveOpen = false
  let transpiredL = 0
  let makeUpL = 0
  let airMmol = 0
  let drainedL = 0
  const mmol = noSolutes()
  const seen: OpenSolutes = { ...fill }
  const taken = noSolutes()
  const settled = noSolutes()
  const running = new Set<string>()
  const pumpSeconds: Record<string, number> = Object.fromEntries(Object.keys(lines).map((pump) => [pump, 0]))
  for (const solute of SOLUTES) mmol[solute] = fill[solute] * volumeL

  const concentrations = () => mapSolutes((solute) => mmol[solute] / volumeL)

  const letIn = (hours: number) => {
    const standingL = volumeL - filmL
    if (standingL < VALVE_OPENS_L) valveOpen = true
    if (standingL > VALVE_SHUTS_L) valveOpen = false
    if (!valveOpen) return
    const addedL = VALVE_L_PER_HOUR * hours
    volumeL += addedL
    makeUpL += addedL
    for (const solute of SOLUTES) mmol[solute] += makeUp[solute] * addedL
  }

  const dose = (hours: number) => {
    for (const pump of running) {
      const { stock, gain } = lines[pump]!
      const addedL = (stock.rateMlPerMin * gain * hours * 60) / 1000
      volumeL += addedL
      pumpSeconds[pump]! += hours * 3600
      for (const solute of SOLUTES) mmol[solute] += stock.solutes[solute] * addedL
    }
  }

  const feed = (hours: number, mmolPerL: Solutes) => {
    const { waterLPerHour, mmolPerHour } = lettuce.drink(nowMs, mmolPerL)
    volumeL -= waterLPerHour * hours
    transpiredL += waterLPerHour * hours
    for (const solute of SOLUTES) {
      const part = Math.min(mmolPerHour[solute] * hours, mmol[solute])
      mmol[solute] -= part
      taken[solute] += part
    }
  }

  const settle = (hours: number, mmolPerL: Solutes, acidity: Acidity) => {
    const scale = Math.max(acidity.ph - SCALE_FROM_PH, 0) * SCALE_PER_HOUR * hours
    const phosphate = Math.min(scale * mmol.P, mmol.Ca / 3)
    const over = Math.log10(Math.max(mmolPerL.Ca * acidity.co3, 1e-12)) - CALCITE_LOG_K_MMOL2 - Math.log10(3)
    const calcite = Math.max(over, 0) * CALCITE_MMOL_PER_L_HOUR * volumeL * hours
    const lost = { P: phosphate, Ca: 1.5 * phosphate + calcite, C: calcite, Fe: scale * mmol.Fe }
    // the ligand that iron leaves behind is not followed; its charge is under 0.1 meq/L
    for (const [solute, amount] of Object.entries(lost)) {
      mmol[solute as Solute] -= amount
      settled[solute as Solute] += amount
    }
  }

  const breathe = (hours: number, acidity: Acidity) => {
    const gained = ((CO2_OF_AIR_MMOL_PER_L - acidity.co2) * volumeL * hours) / AIR_HOURS
    mmol.C += gained
    airMmol += gained
  }

  const step = (hours: number) => {
    const mmolPerL = concentrations()
    const acidity = solveAcidity(mmolPerL)
    feed(hours, mmolPerL)
    settle(hours, mmolPerL, acidity)
    breathe(hours, acidity)
    letIn(hours)
    dose(hours)
    filmL += ((circulating ? FILM_L : 0) - filmL) * (1 - Math.exp(-hours / FILM_HOURS))
    const catchUp = 1 - Math.exp(-hours / MIXING_HOURS)
    for (const solute of SOLUTES) seen[solute] += (mmol[solute] / volumeL - seen[solute]) * catchUp
  }

  return {
    advanceTo: (atMs) => {
      while (nowMs < atMs) {
        const untilMs = Math.min(nowMs + STEP_MS, atMs)
        step((untilMs - nowMs) / HOUR_MS)
        nowMs = untilMs
      }
    },
    switchPump: (pump, on) => void (on ? running.add(pump) : running.delete(pump)),
    circulate: (on) => {
      circulating = on
    },
    drain: (litres) => {
      const kept = 1 - litres / volumeL
      for (const solute of SOLUTES) mmol[solute] *= kept
      volumeL -= litres
      drainedL += litres
    },
    water: () => describeWater(concentrations()),
    waterAtProbes: () => describeWater({ ...seen }),
    accounts: () => ({
      volumeL,
      standingL: volumeL - filmL,
      transpiredL,
      makeUpL,
      pumpSeconds: { ...pumpSeconds },
      mmol: { ...mmol },
      takenMmol: { ...taken },
      settledMmol: { ...settled },
      airMmol,
      drainedL,
    }),
  }
}

/** pH and conductivity of a water in mmol/L. */
export function describeWater(mmolPerL: Solutes): Water {
  const acidity = solveAcidity(mmolPerL)
  return { mmolPerL, acidity, mSPerCm: conduct(mmolPerL, acidity).mSPerCm }
}

function mapSolutes(amount: (solute: Solute) => number): Solutes {
  const solutes = noSolutes()
  for (const solute of SOLUTES) solutes[solute] = amount(solute)
  return solutes
}
