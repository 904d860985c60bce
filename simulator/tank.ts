// Where the water is: a tank, the film in the channels that drains back when the flow stops, and what has just been
// poured in and is not mixed yet.

import { SOLUTE_COUNT, type Solutes } from './solution.ts'

const MINUTE_MS = 60_000
/** Channels fill and drain within minutes; a tenth of the film stays on the roots. Judgement. */
const DRAIN_MS = 3 * MINUTE_MS
export const FILM_LEFT = 0.1
/** Without circulation a dose spreads this much slower. Judgement. */
const STILL_MIXING = 20

export interface Tank {
  tankL: number
  filmL: number
  /** mmol */
  readonly tank: Solutes
  readonly film: Solutes
  readonly unmixed: Solutes
}

/** A full system of one composition, mmol/L, with the circulation running. */
export function fillTank(volumeL: number, filmL: number, mmolPerL: Solutes): Tank {
  return {
    tankL: volumeL - filmL,
    filmL,
    tank: mmolPerL.map((amount) => amount * (volumeL - filmL)),
    film: mmolPerL.map((amount) => amount * filmL),
    unmixed: new Float64Array(SOLUTE_COUNT),
  }
}

/** Solution in tank and film together, L. */
export function volumeOf(tank: Tank): number {
  return tank.tankL + tank.filmL
}

/** What a bottle dipped into the tank holds, mmol/L. */
export function tankConcentration(tank: Tank): Solutes {
  return tank.tank.map((amount) => amount / tank.tankL)
}

/** A drained film is divided by no less, so that 0 mmol in it are 0 mmol/L. */
const FILM_LEAST_L = 1e-6

/** What the film on the channels holds, mmol/L; 0 of everything where there is no film. */
export function filmConcentration(tank: Tank): Solutes {
  return tank.film.map((amount) => amount / Math.max(tank.filmL, FILM_LEAST_L))
}

/** Everything there is, mmol. */
export function contentOf(tank: Tank): Solutes {
  return tank.tank.map((amount, at) => amount + tank.film[at]! + tank.unmixed[at]!)
}

export interface Circulation {
  readonly stepMs: number
  readonly flowLPerMin: number
  readonly filmFullL: number
  /** time to 95 % */
  readonly mixingMs: number
}

/** One step of the water's own movement: film against tank, and the unmixed part into the tank. Changes `tank`. */
export function circulate(tank: Tank, { stepMs, flowLPerMin, filmFullL, mixingMs }: Circulation): void {
  const flows = flowLPerMin > 0.1
  const wanted = flows ? filmFullL : Math.min(tank.filmL, filmFullL * FILM_LEFT)
  const movedL = (wanted - tank.filmL) * -Math.expm1(-stepMs / DRAIN_MS)
  if (movedL > 0) moveWater(tank.tank, tank.film, movedL / tank.tankL)
  else if (movedL < 0) moveWater(tank.film, tank.tank, -movedL / tank.filmL)
  tank.tankL -= movedL
  tank.filmL += movedL
  if (flows) exchange(tank, (flowLPerMin * stepMs) / MINUTE_MS)
  const meanMs = (mixingMs / 3) * (flows ? 1 : STILL_MIXING)
  moveWater(tank.unmixed, tank.tank, -Math.expm1(-stepMs / meanMs))
}

/** Two stirred bodies that swap `litres`: exact for the step, so a fast flow over a thin film stays stable. */
function exchange(tank: Tank, litres: number): void {
  const share = -Math.expm1(-litres * (1 / tank.tankL + 1 / tank.filmL))
  const total = tank.tankL + tank.filmL
  for (let at = 0; at < SOLUTE_COUNT; at += 1) {
    const even = ((tank.tank[at]! + tank.film[at]!) * tank.filmL) / total
    const moved = (even - tank.film[at]!) * share
    tank.film[at]! += moved
    tank.tank[at]! -= moved
  }
}

function moveWater(from: Solutes, to: Solutes, share: number): void {
  for (let at = 0; at < SOLUTE_COUNT; at += 1) {
    const moved = from[at]! * share
    from[at]! -= moved
    to[at]! += moved
  }
}

/** Lets water out of the tank with what is in it; returns what went, mmol. Changes `tank`. */
export function drawOff(tank: Tank, litres: number): Solutes {
  const share = Math.min(1, litres / tank.tankL)
  const gone = tank.tank.map((amount) => amount * share)
  for (let at = 0; at < SOLUTE_COUNT; at += 1) tank.tank[at]! -= gone[at]!
  tank.tankL -= tank.tankL * share
  return gone
}

/** Adds water of a composition to the tank. Changes `tank`. */
export function pourIn(tank: Tank, litres: number, mmolPerL: Solutes): void {
  for (let at = 0; at < SOLUTE_COUNT; at += 1) tank.tank[at]! += mmolPerL[at]! * litres
  tank.tankL += litres
}
