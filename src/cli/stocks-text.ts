/** Stock tanks and batch cards at 80 columns, without colour: to print, to fill in, to hang at the tank. */

import { compact, folded, shown } from './desk-text.ts'
import type { StocksRefusedView, StocksView, TankView } from './stocks-schema.ts'

const RULE = '-'.repeat(80)

/** Which salts cannot share a tank, why, and where each could go. */
export function refusedText({ refusals, crop }: StocksRefusedView): string {
  const steps = [...new Set(refusals.map(({ tank, nextStep }) => `Tank ${tank}: ${nextStep}`))]
  const lines = [
    `These stock tanks for ${crop} are refused:`,
    ...refusals.flatMap(({ tank, pair, why }) =>
      folded(pair.length === 1 ? `${why}.` : `${pair.join(' with ')}: ${why}.`, `  tank ${tank}: `, '    '),
    ),
    ...steps.flatMap((step) => folded(step)),
  ]
  return `${lines.join('\n')}\n`
}

/** A card for each tank, then what the recipe could not meet, notes and cautions. */
export function stocksText(view: StocksView): string {
  const { crop, water, volumeL, coldestC, tanks, acid, notes, unmet, cautions } = view
  const lines = [
    ...folded(
      `STOCK TANKS for ${crop}, with ${water}; reservoir ${compact(volumeL)} L, coldest ${compact(coldestC)} °C`,
    ),
    ...tanks.flatMap((tank) => cardLines(tank)),
    ...(acid === undefined ? [] : acidLines(acid)),
    RULE,
    ...unmet.flatMap((why) => folded(why, 'Unmet: ', '  ')),
    ...notes.flatMap((note) => folded(note, 'Note: ', '  ')),
    ...cautions.flatMap((caution) => folded(caution)),
  ]
  return `${lines.join('\n')}\n`
}

function cardLines(tank: TankView): string[] {
  return [
    RULE,
    ...folded(
      `${compact(tank.mlPerLMakeUp)} mL per litre of make-up, injector ${tank.injector}; ${shown(tank.mlForVolume / 1000)} L for the whole reservoir`,
      `TANK ${tank.name}  ${compact(tank.tankL)} L at ${tank.factor}x   `,
      '  ',
    ),
    '',
    ...folded('Fill two thirds with warm reverse-osmosis water; let each dissolve before the next; fill up.', '  '),
    ...tank.salts.flatMap((line, at) => saltLines(line, at + 1)),
    '  mixed on ______________  by ______________  EC of the check ______________',
    '',
    ...checkLines(tank),
    ...solubilityLines(tank),
    ...saturationLines(tank),
    ...tank.cautions.flatMap((caution) => folded(caution, '  ! ', '    ')),
  ]
}

function saltLines({ salt, grams, how }: TankView['salts'][number], number: number): string[] {
  const start = `  ${String(number).padStart(2)}  ${salt.padEnd(38)}${weight(grams).padStart(10)} g`
  const row = `${start}   lot ________________`
  return how === 'into the tank' ? [row] : [row, `      ${how}`]
}

/** A hundredth of a gram at best, and no more than four figures. */
function weight(grams: number): string {
  return grams >= 1000 ? grams.toFixed(0) : grams >= 10 ? grams.toFixed(1) : grams.toFixed(2)
}

function checkLines({ dilutedDsPerM, dilutedLowDsPerM, dilutedHighDsPerM, mistakes, check }: TankView): string[] {
  const expected = `10 mL made up to 1 L with reverse-osmosis water shows EC ${dilutedDsPerM.toFixed(3)} mS/cm at 25 °C (${dilutedLowDsPerM.toFixed(3)} to ${dilutedHighDsPerM.toFixed(3)} passes).`
  const swap = mistakes.filter(({ kind }) => kind === 'swapped tanks')
  return [
    ...folded(expected, '  Check: ', '    '),
    ...mistakes
      .filter(({ isSeen, kind }) => isSeen && (kind === 'half bag' || kind === 'wrong hydrate'))
      .concat(swap.filter(({ isSeen }) => isSeen))
      .map(({ text, dsPerM }) => `    ${dsPerM.toFixed(3).padStart(7)}  ${text}`),
    ...unseenLines(mistakes),
    ...(check === undefined ? [] : verdictLines(check)),
  ]
}

/** A trace of which not even a double weight shows is named once; what else passes unseen is told by its sentence. */
function unseenLines(mistakes: TankView['mistakes']): string[] {
  const unseen = mistakes.filter(({ isSeen }) => !isSeen)
  const traces = unseen.filter(({ kind }) => kind === 'forgotten').map(({ salt }) => salt)
  const others = unseen.filter(({ salt, kind }) => kind !== 'weighed twice' && !traces.includes(salt))
  return [
    ...(traces.length > 0
      ? folded(`${traces.join(', ')}. Weigh these twice and tick them off.`, '    too little to show: ', '      ')
      : []),
    ...(others.length > 0
      ? folded(`${others.map(({ text }) => text).join('; ')}.`, '    unseen by it: ', '      ')
      : []),
  ]
}

function verdictLines({ measuredDsPerM, verdict, ratio, perhaps }: NonNullable<TankView['check']>): string[] {
  const measured = `Measured ${measuredDsPerM.toFixed(3)} mS/cm, ${Math.round(100 * ratio)} % of that: `
  if (verdict === 'as-expected') return folded(`${measured}as expected.`, '  ')
  const guess =
    perhaps.length > 0
      ? `Perhaps ${perhaps.join('; or ')}.`
      : 'No single mistake of the usual kinds explains it: check meter, temperature and the measure first.'
  return folded(`${measured}${verdict === 'too-low' ? 'TOO LOW' : 'TOO HIGH'}. Do not use the tank. ${guess}`, '  ')
}

function solubilityLines({ solubility, factorMax }: TankView): string[] {
  const nearest = solubility[0]
  if (nearest === undefined) return []
  const { solid, share, shareMax, solubilityGPerL, tabulatedC, isOptimistic } = nearest
  const figure = `${shown(solubilityGPerL)} g/L alone at ${compact(tabulatedC)} °C${isOptimistic ? ', so less is allowed here' : ''}`
  const most = factorMax === undefined ? '' : ` Up to ${Math.floor(factorMax)}x would do.`
  const text = `nearest to crystallising is ${solid}, at ${percent(share)} of its solubility (${percent(shareMax)} is the most to rely on; ${figure}).${most}`
  return folded(text, '  Cold: ', '    ')
}

function saturationLines({ saturation, saturationInSourceWater }: TankView): string[] {
  const told = ({ gypsum, brushite, isSignOnly }: TankView['saturation']) => {
    const index = (name: string, value: number | null) =>
      value === null
        ? `${name} cannot form`
        : `${name} ${isSignOnly ? (value > 0 ? 'above' : 'below') : `${value < 0 ? '' : '+'}${value.toFixed(1)}`}`
    return `${index('gypsum', gypsum)}, ${index('calcium phosphate', brushite)}`
  }
  const sign = saturation.isSignOnly
    ? ' Ionic strength is above 1 mol/L: the model tells only above or below saturation.'
    : ' (log of saturation; above 0 settles)'
  return folded(
    `in pure water ${told(saturation)}; in the source water ${told(saturationInSourceWater)}.${sign}`,
    '  Saturation: ',
    '    ',
  )
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`
}

function acidLines(acid: NonNullable<StocksView['acid']>): string[] {
  const { name, strengthEqPerL, tankL, bottleMl, mlPerLMakeUp, mlForVolume, dilutedDsPerM, steps, cautions } = acid
  return [
    RULE,
    ...folded(
      `${shown(mlPerLMakeUp)} mL per litre of make-up; ${shown(mlForVolume / 1000)} L for the whole reservoir`,
      `TANK acid  ${compact(tankL)} L at ${compact(strengthEqPerL)} eq/L   `,
      '  ',
    ),
    '',
    ...folded(`${name}: ${bottleMl.toFixed(0)} mL in ${compact(tankL)} L; lot ________________`, '  '),
    ...steps.flatMap((step, at) => folded(step, `  ${String(at + 1).padStart(2)}  `)),
    '  mixed on ______________  by ______________  EC of the check ______________',
    ...folded(
      `10 mL made up to 1 L with reverse-osmosis water shows EC ${dilutedDsPerM.toFixed(2)} mS/cm at 25 °C.`,
      '  Check: ',
      '    ',
    ),
    ...cautions.flatMap((caution) => folded(caution, '  ! ', '    ')),
  ]
}
