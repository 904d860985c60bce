/** Stock tanks as they are typed. */

import type { TankWish } from '../formulation/stock-tank/allot.ts'
import { CommandFailure } from './command-failure.ts'
import { nameOf } from './recipe-shelf.ts'

/** A tank called so holds the acid. */
export const ACID_TANK = 'acid'

export interface TankList {
  readonly tanks: readonly TankWish[]
  /** how many times working strength the acid tank is, where one was listed */
  readonly acidFactor?: number
}

/** 'A:100x,B:100x', perhaps with 'acid:100x'. */
export function readTanks(text: string): TankList {
  const all = text.split(',').map((part): TankWish => {
    const match = /^\s*([A-Za-z0-9][\w-]{0,19})\s*:\s*(\d+(?:\.\d+)?)\s*x?\s*$/.exec(part)
    const factor = Number(match?.[2])
    if (match !== null && factor >= 1 && factor <= 1000) return { name: match[1]!, factor }
    throw new CommandFailure(
      'usage',
      `--stocks: found "${part.trim()}"; a name and a strength from 1x to 1000x are needed, e.g. A:100x,B:100x`,
    )
  })
  const twice = all.find(({ name }, at) => all.findIndex((one) => one.name === name) !== at)
  if (twice !== undefined) throw new CommandFailure('usage', `--stocks: tank ${twice.name} is named twice`)
  const tanks = all.filter(({ name }) => name.toLowerCase() !== ACID_TANK)
  const acid = all.find((tank) => !tanks.includes(tank))
  if (tanks.length === 0) throw new CommandFailure('usage', '--stocks: a tank for salts is needed, e.g. A:100x,B:100x')
  return { tanks, ...(acid === undefined ? {} : { acidFactor: acid.factor }) }
}

/** '10C', '10 °C', '50F'; a bare number is refused, since the two scales cannot be told apart. */
export function readTemperatureC(flag: string, text: string): number {
  const match = /^\s*(-?\d+(?:\.\d+)?)\s*°?\s*([CF])\s*$/i.exec(text)
  const value = Number(match?.[1])
  const celsius = match?.[2]?.toUpperCase() === 'F' ? ((value - 32) * 5) / 9 : value
  if (match !== null && celsius >= 0 && celsius <= 40) return celsius
  throw new CommandFailure('usage', `${flag}: found "${text}"; 0 to 40 °C with its scale is needed, e.g. 10C or 50F`)
}

/** 'potassium nitrate=B', repeated; a salt may be named by a part of its name. */
export function readPlaces(
  places: readonly string[],
  salts: readonly string[],
  tanks: readonly TankWish[],
): Readonly<Record<string, string>> {
  return Object.fromEntries(
    places.map((place) => {
      const [salt, tank] = splitAt(place, '--in', 'potassium nitrate=B')
      return [nameOf(salt, salts, '--in'), tankOf(tank, tanks, '--in')]
    }),
  )
}

/** 'A=1.31', repeated: what a meter showed of the diluted tank, mS/cm at 25 °C. */
export function readMeasured(
  measured: readonly string[],
  tanks: readonly TankWish[],
): Readonly<Record<string, number>> {
  return Object.fromEntries(
    measured.map((text) => {
      const [tank, figure] = splitAt(text, '--measured', 'A=1.31')
      const dsPerM = Number(figure.replace(/\s*mS\/cm$/, ''))
      if (dsPerM > 0 && dsPerM < 100) return [tankOf(tank, tanks, '--measured'), dsPerM]
      throw new CommandFailure('usage', `--measured: found "${text}"; mS/cm at 25 °C are needed, e.g. A=1.31`)
    }),
  )
}

function splitAt(text: string, flag: string, example: string): readonly [string, string] {
  const at = text.lastIndexOf('=')
  if (at > 0) return [text.slice(0, at).trim(), text.slice(at + 1).trim()]
  throw new CommandFailure('usage', `${flag}: found "${text}"; write it as "${example}"`)
}

function tankOf(name: string, tanks: readonly TankWish[], flag: string): string {
  const found = tanks.find((tank) => tank.name.toLowerCase() === name.toLowerCase())
  if (found !== undefined) return found.name
  throw new CommandFailure(
    'usage',
    `${flag}: no tank "${name}"; there are ${tanks.map((tank) => tank.name).join(', ')}`,
  )
}
