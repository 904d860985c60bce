/** `tarnward recipe --stocks A:100x,B:100x`: the recipe as stock tanks, with a card to mix each by. */

import { fromVector } from '../chemistry/element.ts'
import { readReagent } from '../chemistry/salt.ts'
import { saltOf } from '../config/salt-entry.ts'
import { ACID_STRENGTH_EQ_PER_L, type AcidTank, planAcidTank } from '../formulation/stock-tank/acid-tank.ts'
import { planStocks } from '../formulation/stock-tank/plan-stocks.ts'
import { type TankSalt, tankSalt } from '../formulation/stock-tank/tank-salt.ts'
import { readQuantity } from '../formulation/units/quantity.ts'
import { CommandFailure } from './command-failure.ts'
import { type PreparedRecipe, prepareRecipe, type RecipeOptions } from './recipe.ts'
import { readShelf } from './recipe-files.ts'
import { readMeasured, readPlaces, readTanks, readTemperatureC } from './stocks-options.ts'
import { type StocksRefusedView, type StocksView, stocksOutput } from './stocks-schema.ts'
import { refusedText, stocksText } from './stocks-text.ts'
import { refusedView, stocksView } from './stocks-view.ts'
import { jsonSchemaText } from './water-schema.ts'

export interface StocksOptions extends RecipeOptions {
  readonly stocks: string
  readonly tank: string
  readonly coldest: string
  readonly in: readonly string[]
  readonly measured: readonly string[]
  readonly acidStrength?: string
  readonly strongAcid?: boolean
}

/** Prints the cards; tanks that would precipitate are refused with an exit code of their own. */
export async function stocks(options: StocksOptions): Promise<void> {
  if (options.jsonSchema) {
    process.stdout.write(jsonSchemaText(stocksOutput))
    return
  }
  const view = await stocksAnswer(options)
  if (options.json) process.stdout.write(`${JSON.stringify(view)}\n`)
  else process.stdout.write(view.kind === 'refused' ? refusedText(view) : stocksText(view))
  if (view.kind === 'refused') process.exitCode = 1
}

/** The tanks, or why they are refused. @throws CommandFailure for what cannot be read */
export async function stocksAnswer(options: StocksOptions): Promise<StocksView | StocksRefusedView> {
  const { tanks, acidFactor } = readTanks(options.stocks)
  const coldestC = readTemperatureC('--coldest', options.coldest)
  const tankL = litres('--tank', options.tank)
  const measured = readMeasured(options.measured, tanks)
  const prepared = await prepareRecipe(options)
  const salts = await tankSalts(prepared, options.shelf)
  const pinned = readPlaces(
    options.in,
    salts.map(({ name }) => name),
    tanks,
  )
  const water = { mmolPerL: fromVector(prepared.water.mmolPerL), alkalinityMeqPerL: prepared.question.presentMeqPerL }
  const answer = planStocks({ salts, tanks, tankL, coldestC, pinned, water })
  const context = { prepared, coldestC, measured }
  if (answer.kind === 'refused') return stocksOutput.parse(refusedView(context, answer))
  return stocksOutput.parse(stocksView(context, answer.tanks, await acidTank(prepared, options, tankL, acidFactor)))
}

/** The salts of the recipe with what is known of each; the acid of the recipe is no salt. */
async function tankSalts({ sheet }: PreparedRecipe, shelf: string): Promise<TankSalt[]> {
  const { salts: entries } = await readShelf(shelf)
  return sheet.salts
    .filter(({ gPerL }) => gPerL > 0)
    .map(({ name, gPerL }) => {
      const entry = entries[name]!
      const { solubilityGPerL } = entry
      const known = solubilityGPerL === undefined ? {} : { solubilityAt20GPerL: solubilityGPerL }
      return tankSalt({ name, gPerL, salt: saltOf(entry), ...known })
    })
}

/** Diluted to 1 eq/L unless told otherwise; listed as acid:100x it is as strong as that needs. */
async function acidTank(
  prepared: PreparedRecipe,
  options: StocksOptions,
  tankL: number,
  factor: number | undefined,
): Promise<AcidTank | undefined> {
  const { acid: bottle } = prepared.question
  const { acid } = prepared.sheet
  if (bottle === undefined || acid === undefined || acid.mlPerL === 0) {
    if (factor === undefined) return undefined
    throw new CommandFailure('usage', '--stocks lists an acid tank, and the recipe has no acid: name one with --acid')
  }
  const content = readReagent(bottle)
  if (content.kind === 'bad-reagent') throw new CommandFailure('usage', `--acid: ${content.problem}`)
  const needMeqPerL = acid.mlPerL * -content.alkalinityMeqPerMl
  const asked = options.acidStrength === undefined ? undefined : eqPerL(options.acidStrength)
  const strengthEqPerL = asked ?? (factor === undefined ? ACID_STRENGTH_EQ_PER_L : (needMeqPerL * factor) / 1000)
  const hazards = (await readShelf('all')).reagents[bottle.name.replace(/ \d.*$/, '')]?.hazards
  const planned = planAcidTank({
    ...{ name: bottle.name, bottle, needMeqPerL, strengthEqPerL, tankL },
    mayBeStrong: options.strongAcid ?? false,
    ...(hazards === undefined ? {} : { hazards }),
  })
  if (planned.kind === 'acid-refused') throw new CommandFailure('usage', planned.why)
  return planned
}

function eqPerL(text: string): number {
  const value = Number(text.replace(/\s*eq\/L\s*$/, ''))
  if (value > 0 && value < 40) return value
  throw new CommandFailure('usage', `--acid-strength: found "${text}"; eq/L are needed, 1 to 2 as a rule`)
}

function litres(flag: string, text: string): number {
  const read = readQuantity(text, ['volume'])
  if (read.kind === 'unfit') throw new CommandFailure('usage', `${flag}: ${read.problem}`)
  if (read.value > 0) return read.value
  throw new CommandFailure('usage', `${flag}: found "${text}"; more than 0 is needed`)
}
