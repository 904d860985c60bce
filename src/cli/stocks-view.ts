/** Planned stock tanks as they are printed and given to machines. */

import type { AcidTank } from '../formulation/stock-tank/acid-tank.ts'
import type { Concentrate } from '../formulation/stock-tank/concentrate.ts'
import { CHECK_TOLERANCE, isSeen, judgeDilution } from '../formulation/stock-tank/mistake.ts'
import type { StockAnswer, StockTank } from '../formulation/stock-tank/plan-stocks.ts'
import type { PreparedRecipe } from './recipe.ts'
import { DISCHARGE_CAUTION, SALT_CAUTION } from './recipe-caution.ts'
import type { StocksRefusedView, StocksView, TankView } from './stocks-schema.ts'

export interface StocksContext {
  readonly prepared: PreparedRecipe
  readonly coldestC: number
  /** mS/cm by tank */
  readonly measured: Readonly<Record<string, number>>
}

/** Tanks and acid as they are printed, with notes and cautions. */
export function stocksView(
  context: StocksContext,
  tanks: readonly StockTank[],
  acid: AcidTank | undefined,
): StocksView {
  const { prepared } = context
  const views = tanks.map((tank) => tankView(tank, context))
  return {
    ...common(context),
    kind: 'stocks',
    tanks: views,
    ...(acid === undefined ? {} : { acid: acidView(acid, prepared.volumeL) }),
    notes: [...prepared.notes, ...ratioNote(tanks), ...alikeNote(tanks)],
    cautions: [SALT_CAUTION, CONCENTRATE_CAUTION, DISCHARGE_CAUTION],
  }
}

const CONCENTRATE_CAUTION =
  'Concentrates stand dark, closed and marked, below the point where they are dosed, with a check valve or an air break so that nothing siphons. Never pour one tank into another; rinse a shared line with water.'

/** Tanks that are refused: pairs that react, and solids that would settle, with the next step of each. */
export function refusedView(
  context: StocksContext,
  { refusals, settling }: Extract<StockAnswer, { kind: 'refused' }>,
): StocksRefusedView {
  const crystals = settling.map(({ tank, solid, why, nextStep }) => ({ tank, pair: [solid], why, nextStep }))
  const pairs = refusals.map(({ tank, pair, why, nextStep }) => ({ tank, pair: [...pair], why, nextStep }))
  return { ...common(context), kind: 'refused', refusals: [...pairs, ...crystals] }
}

function common({ prepared, coldestC }: StocksContext) {
  const { crop, water, volumeL, sheet } = prepared
  const unmet = sheet.unmet.map(({ why }) => why)
  return { schema: 'tarnward/stocks/1' as const, crop: crop.name, water: water.name, volumeL, coldestC, unmet }
}

function tankView(tank: StockTank, { prepared, measured }: StocksContext): TankView {
  const { name, factor, tankL, lines, dilutedDsPerM, mistakes, factorMax, cautions } = tank
  const reading = measured[name]
  return {
    ...{ name, factor, tankL, dilutedDsPerM, cautions },
    salts: lines.map(({ salt, grams, gPerL, how }) => ({ salt, grams, gPerL, how })),
    mlPerLMakeUp: tank.mlPerLMakeUp,
    injector: `1:${Number(factor.toPrecision(4))}`,
    mlForVolume: tank.mlPerLMakeUp * prepared.volumeL,
    dilutedLowDsPerM: dilutedDsPerM * (1 - CHECK_TOLERANCE),
    dilutedHighDsPerM: dilutedDsPerM * (1 + CHECK_TOLERANCE),
    mistakes: mistakes.map(({ ratio, ...one }) => ({ ...one, isSeen: isSeen({ ratio }) })),
    solubility: tank.solubility.map(({ shareEdge: _edge, ...rest }) => rest),
    ...(Number.isFinite(factorMax) ? { factorMax } : {}),
    saturation: saturationView(tank.concentrate.saturation),
    saturationInSourceWater: saturationView(tank.saturationInTapWater ?? tank.concentrate.saturation),
    ...(reading === undefined ? {} : { check: checkView(tank, reading) }),
  }
}

function saturationView({ gypsum, brushite, withinModel }: Concentrate['saturation']) {
  const finite = (index: number) => (Number.isFinite(index) ? index : null)
  return { gypsum: finite(gypsum), brushite: finite(brushite), isSignOnly: !withinModel }
}

function checkView({ dilutedDsPerM, mistakes }: StockTank, measuredDsPerM: number) {
  const { kind, ratio, perhaps } = judgeDilution(dilutedDsPerM, mistakes, measuredDsPerM)
  return { measuredDsPerM, verdict: kind, ratio, perhaps: perhaps.map(({ text }) => text) }
}

function acidView({ name, strengthEqPerL, tankL, bottleMl, mlPerLMakeUp, ...rest }: AcidTank, volumeL: number) {
  const { dilutedDsPerM, steps, cautions } = rest
  const mlForVolume = mlPerLMakeUp * volumeL
  return { name, strengthEqPerL, tankL, bottleMl, mlPerLMakeUp, mlForVolume, dilutedDsPerM, steps, cautions }
}

function ratioNote(tanks: readonly StockTank[]): string[] {
  if (tanks.length < 2) return []
  const ratios = tanks.map(({ name, mlPerLMakeUp }) => `${Number(mlPerLMakeUp.toPrecision(3))} of ${name}`).join(' to ')
  return [`Pumps: ${ratios}, in mL per litre of make-up; a ratio 1:100 is 10 mL in a litre of finished solution.`]
}

/** Tanks whose dilutions look alike: then a swap shows nothing, and a person must know. */
function alikeNote(tanks: readonly StockTank[]): string[] {
  return tanks.flatMap((tank, at) =>
    tanks
      .slice(at + 1)
      .filter((other) => Math.abs(other.dilutedDsPerM / tank.dilutedDsPerM - 1) <= 2 * CHECK_TOLERANCE)
      .map(
        (other) =>
          `Dilutions of ${tank.name} and ${other.name} show nearly the same EC: it cannot tell swapped tanks here. Mark them by colour, and let a drop of each meet in a glass of water: calcium and phosphate turn cloudy.`,
      ),
  )
}
