/** The rows of this model by the names the gate gives them: what must hold, and a NaN holds nowhere. */

import type { ShotWish } from '../../../src/safety/types.ts'
import type { Past } from './past.ts'
import { DOSE, REFILL } from './rows-dose.ts'
import { PROBE, WATER } from './rows-probe.ts'
import { CALIBRATION, RATION } from './rows-purpose.ts'
import { ACID, BASE } from './rows-reagent.ts'
import { NODE, STANDING } from './rows-standing.ts'
import { EFFECT, ELEMENT } from './rows-whole.ts'
import { type Asked, asked, isRation, type Rows } from './wish-facts.ts'

/** What no run into a measuring glass is asked. */
const OUTSIDE_A_GLASS: ReadonlySet<string> = new Set([
  'mode-acts',
  ...Object.keys(PROBE),
  ...Object.keys(WATER),
  ...Object.keys(ACID),
  ...Object.keys(BASE),
  ...Object.keys(EFFECT),
  ...Object.keys(RATION),
  'gap-kept',
  'stocks-apart',
  'series-doubled',
  'series-mixed',
])

const ALL: Rows = {
  ...STANDING,
  ...NODE,
  ...PROBE,
  ...WATER,
  ...DOSE,
  ...REFILL,
  ...ELEMENT,
  ...EFFECT,
  ...ACID,
  ...BASE,
  ...RATION,
  ...CALIBRATION,
}

export const ROW_NAMES: readonly string[] = Object.keys(ALL)

/** The names of all rows that do not hold for this wish; none means it is permitted. */
export function refusers(past: Past, wish: ShotWish, commandId: string, nowMs: number): string[] {
  const it = asked(past, wish, commandId, nowMs)
  const why: string[] = []
  for (const [name, holdsFor] of askedOf(it)) if (holdsFor(it) !== true) why.push(name)
  return why
}

/** Whether one row holds, whatever the others say. */
export function holds(past: Past, wish: ShotWish, nowMs: number, name: string): boolean {
  return ALL[name]?.(asked(past, wish, 'question', nowMs)) === true
}

type AskedRows = readonly (readonly [name: string, holds: (it: Asked) => boolean])[]

const OF_A_PLAN: AskedRows = Object.entries(ALL).filter(([name]) => !(name in CALIBRATION || name in RATION))
const OF_A_RATION: AskedRows = Object.entries(ALL).filter(([name]) => !(name in CALIBRATION))
const OF_A_GLASS: AskedRows = Object.entries(ALL).filter(([name]) => !OUTSIDE_A_GLASS.has(name))

function askedOf(it: Asked): AskedRows {
  if (it.wish.purpose === 'calibration') return OF_A_GLASS
  return isRation(it) ? OF_A_RATION : OF_A_PLAN
}
