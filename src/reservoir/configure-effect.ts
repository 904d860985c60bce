/** What the conductivity probe should see of each stock: proposed from its recipe, or as a technician wrote it. */

import { alkalinityFromPh, phFromAlkalinity } from '../chemistry/acidity.ts'
import { OPEN_AIR } from '../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../chemistry/conductivity.ts'
import { ELEMENTS, toVector } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { Configuration, Limits as LimitsPart, Site } from '../config/configuration.ts'
import type { EffectLimits, NotChecked, StockEffect } from '../safety/limits.ts'
import { stockSettings } from './configure-stock.ts'

const MINUTE_MS = 60_000
/** Where the site states no pH of its fill: the middle of what such solutions are kept at. Common practice, no source. */
const USUAL_PH = 6
/** A largest shot that moves conductivity by less than this share of one that shows is too small to be seen. */
const SEEN_SHARE = 0.5
/** Responses within a factor of two are alike: each is neither too little nor too much for the other. */
const ALIKE = 2

/** A limits file from before effects were checked says so here. */
const NO_EFFECT = { notChecked: 'the limits file does not say how effects are checked' }

/** How effects are checked at this site, or why not. */
export function effectLimits(effect: LimitsPart['effect']): EffectLimits | NotChecked {
  if (effect === undefined) return NO_EFFECT
  if ('notChecked' in effect) return effect
  const { windowMin, ...rest } = effect
  return { ...rest, windowMs: Math.ceil(windowMin * MINUTE_MS) }
}

/** The declared response of one stock, with the reason where it cannot be tested; nothing where its limits are missing. */
export function stockEffect(
  { site, limits, salts }: Configuration,
  stock: Site['stocks'][number],
): { readonly effect?: StockEffect } {
  const entry = limits.stocks[stock.id]
  if (entry === undefined) return {}
  const written = entry.effect !== undefined && 'confirmed' in entry.effect ? entry.effect : undefined
  const dsPerMPerMlPerL = written?.conductivityDsPerMPerMlPerL ?? responseOf(site, salts, stock)
  if (entry.effect !== undefined && 'notChecked' in entry.effect)
    return { effect: { dsPerMPerMlPerL, untold: entry.effect.notChecked } }
  if (limits.effect === undefined || 'notChecked' in limits.effect) return { effect: { dsPerMPerMlPerL } }
  const shownDsPerM = (Math.abs(dsPerMPerMlPerL) * entry.shotMaxMl) / limits.water.levelMaxL
  if (shownDsPerM >= SEEN_SHARE * limits.effect.showDsPerM) return { effect: { dsPerMPerMlPerL } }
  const untold = `its largest shot of ${entry.shotMaxMl} mL moves conductivity by ${shownDsPerM.toFixed(3)} mS/cm only`
  return { effect: { dsPerMPerMlPerL, untold } }
}

/** Rise of conductivity by 1 mL of the stock in 1 L of the first fill in open air, dS/m. */
function responseOf({ firstFill }: Site, salts: Configuration['salts'], stock: Site['stocks'][number]): number {
  const fill = toVector(
    Object.fromEntries(ELEMENTS.map((name) => [name, toMmolPerL(name, firstFill.elements[name] ?? 0)])),
  )
  const ph = firstFill.ph ?? USUAL_PH
  const { mmolPerMl, alkalinityMeqPerMl } = stockSettings(stock, salts)
  const dosed = fill.map((level, at) => level + mmolPerMl[at]! * STEP_ML)
  const alkalinity = alkalinityFromPh(fill, ph, OPEN_AIR) + alkalinityMeqPerMl * STEP_ML
  const dosedPh = phFromAlkalinity(dosed, alkalinity, OPEN_AIR)
  const rise = conductivity25DsPerM(dosed, dosedPh, OPEN_AIR) - conductivity25DsPerM(fill, ph, OPEN_AIR)
  return rise / STEP_ML
}

/** Small against what is dissolved, large against rounding. */
const STEP_ML = 0.02

/** What a person should know of the effect check before the site runs; a sentence each, none where all is well. */
export function effectWarnings(configuration: Configuration): readonly string[] {
  const { site, limits } = configuration
  const { effect } = limits
  if (effect === undefined) return [`The effect of doses is not checked: ${NO_EFFECT.notChecked}; add effect to it.`]
  if ('notChecked' in effect) return [`The effect of doses is not checked: ${effect.notChecked}.`]
  const stocks = site.stocks.flatMap((stock) => {
    const told = stockEffect(configuration, stock).effect
    return told === undefined ? [] : [{ id: stock.id, ...told }]
  })
  const untold = stocks.flatMap(({ id, untold: why }) =>
    why === undefined ? [] : [`The conductivity probe cannot tell whether ${id} arrives: ${why}. Its caps guard it.`],
  )
  const tested = stocks.filter((stock) => stock.untold === undefined)
  const proposed = tested
    .filter(({ id }) => !isConfirmed(limits.stocks[id]?.effect))
    .map(
      ({ id, dsPerMPerMlPerL }) =>
        `The response of ${id}, ${dsPerMPerMlPerL.toPrecision(3)} mS/cm for 1 mL in 1 L, is proposed from its recipe; ` +
        `confirm it in the limits: stocks.${id}.effect.`,
    )
  return [...untold, ...alike(tested), ...proposed]
}

function isConfirmed(effect: LimitsPart['stocks'][string]['effect']): boolean {
  return effect !== undefined && 'confirmed' in effect && effect.confirmed
}

function alike(stocks: readonly { readonly id: string; readonly dsPerMPerMlPerL: number }[]): string[] {
  return stocks.flatMap((stock, at) =>
    stocks.slice(at + 1).flatMap((other) => {
      const ratio = stock.dsPerMPerMlPerL / other.dsPerMPerMlPerL
      if (!(ratio < ALIKE && ratio > 1 / ALIKE)) return []
      return [
        `The conductivity probe cannot tell ${stock.id} and ${other.id} apart: if they are swapped, it does not show.`,
      ]
    }),
  )
}
