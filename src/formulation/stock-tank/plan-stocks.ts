// From a recipe to stock tanks: where each salt goes, how much of it, whether it stays dissolved, and the card to mix by.

import { allotTanks, type Refusal, type TankWish } from './allot.ts'
import { type Concentrate, concentrateOf, dilutedDsPerM, PURE_WATER, type TankWater } from './concentrate.ts'
import { type DissolvingStep, dissolvingOrder } from './dissolving-order.ts'
import { type Mistake, possibleMistakes } from './mistake.ts'
import { type SolubilityShare, solubilityShares, unknownSolubility } from './solubility-share.ts'
import type { TankSalt } from './tank-salt.ts'

export interface StockQuestion {
  readonly salts: readonly TankSalt[]
  readonly tanks: readonly TankWish[]
  readonly tankL: number
  /** the coldest the tanks get */
  readonly coldestC: number
  /** tank by salt, where a person has decided */
  readonly pinned: Readonly<Record<string, string>>
  /** what comes from the tap, to say whether a tank may be filled with it */
  readonly water?: TankWater
}

export type StockAnswer =
  | { readonly kind: 'stocks'; readonly tanks: readonly StockTank[] }
  | { readonly kind: 'refused'; readonly refusals: readonly Refusal[]; readonly settling: readonly Settling[] }

/** A tank whose content would not stay dissolved though its salts may share it. */
export interface Settling {
  readonly tank: string
  readonly solid: string
  readonly why: string
  readonly nextStep: string
}

export interface StockTank {
  readonly name: string
  readonly factor: number
  readonly tankL: number
  /** in the order of dissolving */
  readonly lines: readonly CardLine[]
  readonly concentrate: Concentrate
  /** the solids nearest to settling, nearest first; at least those above a tenth of their solubility */
  readonly solubility: readonly SolubilityShare[]
  /** the strongest this tank may be for every salt to stay below its limit, times working strength */
  readonly factorMax: number
  /** salts whose solubility nobody has told */
  readonly unknownSolubility: readonly string[]
  /** with the tap's water instead of reverse-osmosis water; absent where no water was given */
  readonly saturationInTapWater?: Concentrate['saturation']
  /** of stock in a litre of finished solution, the same for an injector or a pump */
  readonly mlPerLMakeUp: number
  /** dS/m at 25 °C of 10 mL made up to 1 L with pure water */
  readonly dilutedDsPerM: number
  readonly mistakes: readonly Mistake[]
  readonly cautions: readonly string[]
}

export interface CardLine {
  readonly salt: string
  readonly grams: number
  readonly gPerL: number
  readonly how: DissolvingStep['how']
  readonly nature: TankSalt['nature']
}

/** Salts below this share of what can dissolve need no line of their own. */
const TOLD_SHARE = 0.1

/**
 * Tanks for a recipe, or every reason why not.
 *
 * A tank is refused, not trimmed, when two of its salts must not meet in a concentrate, when it would crystallise at
 * the coldest, or when gypsum or calcium phosphate would settle from its salts. Between the limit of 80 % (less where
 * the figure is for a warmer tank) and the edge it is planned with a caution.
 *
 * @throws for factors, volumes or amounts that are not above 0
 */
export function planStocks(question: StockQuestion): StockAnswer {
  requireSound(question)
  const { salts, tanks, pinned, coldestC } = question
  const weighed = salts.filter(({ gPerL }) => gPerL > 0)
  const allotment = allotTanks(weighed, tanks, pinned, coldestC)
  if (allotment.kind === 'refused') return { kind: 'refused', refusals: allotment.refusals, settling: [] }
  const filled = allotment.tanks.filter((tank) => tank.salts.length > 0)
  const planned = filled.map((tank) =>
    planTank(
      tank,
      filled.filter((other) => other !== tank),
      question,
    ),
  )
  const settling = planned.flatMap((tank) => settlingOf(tank, coldestC))
  return settling.length > 0 ? { kind: 'refused', refusals: [], settling } : { kind: 'stocks', tanks: planned }
}

type Filled = TankWish & { readonly salts: readonly TankSalt[] }

function planTank(tank: Filled, others: readonly Filled[], { tankL, coldestC, water }: StockQuestion): StockTank {
  const { name, factor, salts } = tank
  const concentrate = concentrateOf(salts, factor, PURE_WATER)
  const solubility = solubilityShares(concentrate.mmolPerL, salts, factor, coldestC)
  const shareOf = Object.fromEntries(
    salts.map((salt) => [
      salt.name,
      solubility.find(({ solid }) => [salt.formula, salt.name].includes(solid))?.share ?? 0,
    ]),
  )
  const lines = dissolvingOrder(salts, factor, shareOf).map(({ salt, how }): CardLine => {
    const gPerL = salt.gPerL * factor
    return { salt: salt.name, grams: gPerL * tankL, gPerL, how, nature: salt.nature }
  })
  const saturationInTapWater = water === undefined ? undefined : concentrateOf(salts, factor, water).saturation
  const unknown = unknownSolubility(salts)
  return {
    ...{ name, factor, tankL, lines, concentrate },
    solubility: solubility.filter(({ share }, at) => at === 0 || share >= TOLD_SHARE),
    factorMax: factor * Math.min(...solubility.map(({ share, shareMax }) => shareMax / share)),
    unknownSolubility: unknown,
    ...(saturationInTapWater === undefined ? {} : { saturationInTapWater }),
    mlPerLMakeUp: 1000 / factor,
    dilutedDsPerM: dilutedDsPerM(concentrate),
    mistakes: possibleMistakes(tank, others),
    cautions: [
      ...solubility.flatMap((share) => nearEdge(share, coldestC)),
      ...tapWater(saturationInTapWater),
      ...unknown.map(
        (salt) => `No solubility is known for ${salt}: see its label, and try a jar of it in the cold first.`,
      ),
    ],
  }
}

function nearEdge({ solid, share, shareMax, shareEdge, isOptimistic, tabulatedC }: SolubilityShare, coldestC: number) {
  if (share <= shareMax || share > shareEdge) return []
  const reason = isOptimistic ? ` (the figure known is for ${tabulatedC} °C, so less is allowed at ${coldestC} °C)` : ''
  return [
    `${solid} stands at ${percent(share)} of its solubility; ${percent(shareMax)} is the most to rely on${reason}. ` +
      'Keep the tank warm, or make it weaker.',
  ]
}

function tapWater(saturation: Concentrate['saturation'] | undefined): string[] {
  if (saturation === undefined) return []
  const settles = [saturation.gypsum > 0 ? 'gypsum' : '', saturation.brushite > 0 ? 'calcium phosphate' : ''].filter(
    Boolean,
  )
  if (settles.length === 0) return []
  return [
    `Fill this tank with reverse-osmosis or rain water: with the calcium and alkalinity of the source water ` +
      `${settles.join(' and ')} would settle in it.`,
  ]
}

function settlingOf(tank: StockTank, coldestC: number): Settling[] {
  const crystals = tank.solubility
    .filter(({ share, shareEdge }) => share > shareEdge)
    .map(({ solid, share, isOptimistic, tabulatedC }): Settling => {
      const figureFor = isOptimistic ? `, reckoned from the figure for ${tabulatedC} °C` : ''
      const strongest = Math.floor(tank.factorMax)
      const nextStep =
        strongest >= 1 ? `Make the tank ${strongest}x or weaker, or keep it warmer.` : 'Give it a tank of its own.'
      const why = `${solid} would stand at ${percent(share)} of what dissolves alone at ${coldestC} °C${figureFor}`
      return { tank: tank.name, solid, why, nextStep }
    })
  const { gypsum, brushite } = tank.concentrate.saturation
  const salts = [gypsum > 0 ? 'gypsum' : '', brushite > 0 ? 'calcium phosphate (brushite)' : ''].filter(Boolean)
  const minerals = salts.map((solid): Settling => {
    const why = `${solid} is above saturation among its salts`
    return { tank: tank.name, solid, why, nextStep: 'Move calcium, or what it meets, into another tank.' }
  })
  return [...crystals, ...minerals]
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`
}

function requireSound({ salts, tanks, tankL }: StockQuestion): void {
  const bad = (what: string) => new Error(`planStocks: ${what}`)
  if (!(tankL > 0 && tankL < Infinity)) throw bad(`a tank of ${tankL} L`)
  for (const { name, factor } of tanks) if (!(factor >= 1 && factor < Infinity)) throw bad(`tank ${name} of ${factor}x`)
  for (const { name, gPerL } of salts) if (!(gPerL >= 0 && gPerL < Infinity)) throw bad(`${gPerL} g/L of ${name}`)
}
