/**
 * What growers do today: all nutrient stocks in a ratio tuned to the crop’s uptake, dosed by EC, acid by pH. With or
 * without throwing the solution away every 14 days.
 */

import { conductivityGradient, GRADIENT_LENGTH } from '../chemistry/conductivity.ts'
import { ELEMENT_COUNT } from '../chemistry/element.ts'
import type { Configuration } from '../config/configuration.ts'
import type { CoreSettings } from '../core/settings.ts'
import { solveQuadraticProgram } from '../formulation/solver/quadratic-program.ts'
import { coreSettings } from '../reservoir/configure.ts'
import type { Input } from '../reservoir/input.ts'
import type { Controller } from './controller.ts'
import { createShotDriver } from './shot-driver.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000
const DUMP_EVERY_DAYS = 14
/** Above this acid is given, one small shot an hour. */
const PH_HIGH = 6.1
const ACID_MEQ_PER_L = 0.04
/** Largest step of EC in one hour, dS/m. */
const STEP_DS_PER_M = 0.1

/** A and B by EC, tuned to the uptake of the site’s crop; with `dumps` also a fresh fill every 14 days. */
export function createConductivityController(
  configuration: Configuration,
  options: { readonly dumps: boolean },
): Controller {
  const settings = coreSettings(configuration)
  const driver = createShotDriver(configuration)
  const recipe = tunedRecipe(settings)
  let aimDsPerM: number | undefined
  let startMs: number | undefined
  let nextMs = 0
  let dumpDueMs = Number.POSITIVE_INFINITY
  const latest: Record<string, number> = {}

  const dose = (atMs: number): void => {
    const conductivity = latest['conductivity']
    if (conductivity === undefined || atMs < nextMs || !driver.isIdle) return
    nextMs = atMs + HOUR_MS
    aimDsPerM ??= conductivity
    const volumeL = settings.reservoir.volumeL
    const litres = Math.max(0, Math.min(STEP_DS_PER_M, aimDsPerM - conductivity)) / (recipe.dsPerMPerLitre / volumeL)
    settings.stocks.forEach((stock, at) => {
      driver.ask(stock.id, recipe.mlPerLitre[at]! * litres)
    })
    const acid = settings.stocks.find((stock) => stock.kind === 'acid')
    if (acid && (latest['ph'] ?? 0) > PH_HIGH)
      driver.ask(acid.id, (ACID_MEQ_PER_L * volumeL) / -acid.alkalinityMeqPerMl)
  }

  return {
    keepsLimits: false,
    refused: 0,
    unknown: 0,
    alarms: [],
    handle(input: Input) {
      startMs ??= input.atMs
      if (dumpDueMs === Number.POSITIVE_INFINITY && options.dumps) dumpDueMs = startMs + DUMP_EVERY_DAYS * DAY_MS
      if (input.kind === 'scan') {
        for (const reading of input.scan.readings) {
          const probe = configuration.site.probes.find((candidate) => candidate.id === reading.id)
          if (probe) latest[probe.role] = reading.value
        }
        dose(input.atMs)
      }
      return driver.handle(input)
    },
    dump(atMs) {
      if (atMs < dumpDueMs) return 'nothing'
      dumpDueMs += DUMP_EVERY_DAYS * DAY_MS
      return 'new-fill'
    },
  }
}

interface Recipe {
  /** mL of each stock for one litre of water the crop drinks */
  readonly mlPerLitre: Float64Array
  /** amount of conductivity that brings: dS/m in one litre */
  readonly dsPerMPerLitre: number
}

/** Stock volumes that replace, as nearly as the stocks can, what the crop takes with a litre beyond what the water brings. */
function tunedRecipe(settings: CoreSettings): Recipe {
  const crop = settings.crops.find((candidate) => candidate.id === settings.cohorts[0]?.crop)
  if (!crop) throw new Error('a baseline needs a crop')
  const stocks = settings.stocks
  const size = stocks.length
  const quadratic = Array.from({ length: size }, () => new Array<number>(size).fill(0))
  const linear = new Array<number>(size).fill(0)
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    if (crop.drivers[at] === 'concentration') continue
    const wanted = crop.uptakeMmolPerL[at]! - settings.source.mmolPerL[at]!
    const weight = 1 / Math.max(crop.uptakeMmolPerL[at]!, 0.001) ** 2
    for (let row = 0; row < size; row++) {
      const perRow = nutrientMmolPerMl(stocks[row]!, at)
      linear[row]! += weight * perRow * wanted
      for (let column = 0; column < size; column++)
        quadratic[row]![column]! += weight * perRow * nutrientMmolPerMl(stocks[column]!, at)
    }
  }
  const answer = solveQuadraticProgram({
    hessian: quadratic,
    linear,
    rows: [],
    atLeast: [],
    equalities: 0,
    lower: new Array<number>(size).fill(0),
  })
  if (answer.kind !== 'solved') throw new Error('no tuned ratio for these stocks')
  return { mlPerLitre: Float64Array.from(answer.x), dsPerMPerLitre: conductivityBrought(settings, answer.x) }
}

/** Acid and base are dosed by pH, so the ratio leaves them out. */
function nutrientMmolPerMl(stock: CoreSettings['stocks'][number], at: number): number {
  return stock.kind === 'acid' || stock.kind === 'base' ? 0 : stock.mmolPerMl[at]!
}

function conductivityBrought(settings: CoreSettings, mlPerLitre: ArrayLike<number>): number {
  const gradient = new Float64Array(GRADIENT_LENGTH)
  conductivityGradient(settings.firstFill.mmolPerL, 5.9, -3.4, gradient)
  return settings.stocks.reduce((sum, stock, place) => {
    let perMl = 0
    for (let at = 0; at < ELEMENT_COUNT; at++) perMl += gradient[at]! * nutrientMmolPerMl(stock, at)
    return sum + perMl * mlPerLitre[place]!
  }, 0)
}
