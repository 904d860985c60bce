/** What a period used: doses, salts, water, discharge, cost; and what changing the solution by the calendar would have. */

import { ELEMENTS } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import type { Configuration } from '../../config/configuration.ts'
import type { CoreSettings, StockSettings } from '../../core/settings.ts'
import type { LedgerRecord } from '../../reservoir/record.ts'

export interface StockUse {
  readonly stock: string
  readonly shots: number
  /** what surely and what at most went in */
  readonly lowMl: number
  readonly highMl: number
  /** each salt at the middle of the two, g; the reagent itself for an acid or base */
  readonly salts: readonly { readonly name: string; readonly massG: number }[]
  /** nutrient elements in it, g */
  readonly elementsG: number
}

export interface Use {
  readonly stocks: readonly StockUse[]
  /** weighed in by hand */
  readonly byHand: readonly { readonly name: string; readonly massG: number }[]
  readonly makeUpL: number
  readonly dischargedL: number
  readonly changes: number
  readonly elementsG: number
  /** in the site’s currency; absent where a price is missing, which are then named */
  readonly cost?: number
  readonly withoutPrice: readonly string[]
}

/** The same crop with a whole change of solution by the calendar. */
export interface ByCalendar {
  readonly everyDays: number
  readonly makeUpL: number
  readonly dischargedL: number
  readonly elementsG: number
  readonly cost?: number
}

const DAY_MS = 86_400_000
/** A usual interval between changes of solution; common practice, no source. */
const EVERY_DAYS = 14

type Told = Extract<LedgerRecord, { kind: 'settled' | 'act' | 'observed' }>

/** @param records of the period, oldest first */
export function useOf(configuration: Configuration, settings: CoreSettings, records: readonly Told[]): Use {
  const acts = records.flatMap((record) => (record.kind === 'act' ? [record.act] : []))
  const metered = records.reduce(
    (sum, record) => sum + (record.kind === 'observed' ? (record.observation.topUpL ?? 0) : 0),
    0,
  )
  const stocks = settings.stocks.map((stock) => stockUse(configuration, stock, records))
  const byHand = acts.flatMap((act) => (act.act === 'salt-added' ? [{ name: act.salt, massG: act.massG }] : []))
  const poured = acts.reduce(
    (sum, act) => sum + (act.act === 'topped-up' ? act.volumeL : act.act === 'changed' ? act.filledL : 0),
    0,
  )
  const gone = acts.map((act) => (act.act === 'drained' ? act.volumeL : act.act === 'changed' ? act.drainedL : 0))
  const makeUpL = metered + poured
  return {
    ...{ stocks, byHand, makeUpL },
    dischargedL: gone.reduce((sum, litres) => sum + litres, 0),
    changes: gone.filter((litres) => litres > 0).length,
    elementsG: stocks.reduce((sum, { elementsG }) => sum + elementsG, 0),
    ...costOf(configuration, [...stocks.flatMap(({ salts }) => salts), ...byHand], makeUpL),
  }
}

function stockUse({ site }: Configuration, settings: StockSettings, records: readonly Told[]): StockUse {
  const settled = records.flatMap((record) =>
    record.kind === 'settled' && record.stock === settings.id ? [record] : [],
  )
  // what is unknown is told again once it is known: the last word on a command counts
  const last = new Map(settled.map((record) => [record.commandId, record]))
  const delivered = [...last.values()].map((record) => record.delivered).filter(({ highUl }) => highUl > 0)
  const lowMl = delivered.reduce((sum, { lowUl }) => sum + lowUl, 0) / 1000
  const highMl = delivered.reduce((sum, { highUl }) => sum + highUl, 0) / 1000
  const middleMl = (lowMl + highMl) / 2
  const mixed = site.stocks.find(({ id }) => id === settings.id)
  const salts =
    mixed && 'salts' in mixed
      ? mixed.salts.map(({ salt, gPerL }) => ({ name: salt, massG: (gPerL * middleMl) / 1000 }))
      : [
          {
            name: mixed && 'reagent' in mixed ? mixed.reagent.name : settings.id,
            massG: settings.saltGPerMl * middleMl,
          },
        ]
  const mgPerMl = ELEMENTS.reduce((sum, name, at) => sum + toMgPerL(name, settings.mmolPerMl[at]!), 0)
  return { stock: settings.id, shots: delivered.length, lowMl, highMl, salts, elementsG: (mgPerMl * middleMl) / 1000 }
}

function costOf(
  { site }: Configuration,
  salts: readonly { readonly name: string; readonly massG: number }[],
  makeUpL: number,
): Pick<Use, 'cost' | 'withoutPrice'> {
  const prices = site.prices
  if (prices === undefined) return { withoutPrice: [] }
  const used = salts.filter(({ massG }) => massG > 0)
  const withoutPrice = [...new Set(used.map(({ name }) => name))].filter((name) => prices.perKg[name] === undefined)
  if (withoutPrice.length > 0) return { withoutPrice }
  const ofSalts = used.reduce((sum, { name, massG }) => sum + (prices.perKg[name]! * massG) / 1000, 0)
  return { cost: ofSalts + (prices.waterPerM3 * makeUpL) / 1000, withoutPrice }
}

/**
 * A whole change every 14 days beside it: the crop takes the same water and elements; each change throws away a filled
 * reservoir of the recipe. Elements cost there what they cost here.
 */
export function byCalendar(configuration: Configuration, use: Use, lengthMs: number): ByCalendar {
  const { site } = configuration
  const changes = lengthMs / DAY_MS / EVERY_DAYS
  const dischargedL = changes * site.reservoir.volumeL
  const fillGPerL =
    ELEMENTS.reduce((sum, name) => sum + (site.firstFill.elements[name] - site.source.elements[name]), 0) / 1000
  // what was let go here took its part of the salts along, as a fill of the recipe would
  const takenG = Math.max(0, use.elementsG - use.dischargedL * fillGPerL)
  const elementsG = takenG + dischargedL * fillGPerL
  const makeUpL = use.makeUpL - use.dischargedL + dischargedL
  const waterPrice = (site.prices?.waterPerM3 ?? 0) / 1000
  const perElementG =
    use.cost === undefined || use.elementsG === 0 ? undefined : (use.cost - waterPrice * use.makeUpL) / use.elementsG
  return {
    ...{ everyDays: EVERY_DAYS, makeUpL, dischargedL, elementsG },
    ...(perElementG === undefined ? {} : { cost: perElementG * elementsG + waterPrice * makeUpL }),
  }
}
