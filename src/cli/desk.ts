/** The desk for the page: the very functions of `tarnward water`, `recipe` and `amend`, with files given as text. */

import { cropsSchema } from '../config/crops-schema.ts'
import type { Desk, DeskAnswer } from '../shell/api/desk.ts'
import type { DeskRecipeQuestion } from '../shell/api/schema/desk.ts'
import { amendAnswer } from './amend.ts'
import { CommandFailure } from './command-failure.ts'
import { prepareRecipe, type RecipeOptions, saltUnit } from './recipe.ts'
import { type FileOrText, ownFile, readChecked, readShelf } from './recipe-files.ts'
import { jsonOf } from './recipe-schema.ts'
import { stocksAnswer } from './stocks.ts'
import { waterAnswer, waterView } from './water.ts'
import { readKnownWaters } from './water-files.ts'

/** Asks the package’s own crops, salts and waters; no file of the disk can be named from outside. */
export function createDesk(): Desk {
  return {
    async choices() {
      const { crops } = await readChecked(ownFile('crops.yaml'), cropsSchema)
      const { waters } = await readKnownWaters()
      const { salts, reagents } = await readShelf('all')
      return {
        crops: Object.entries(crops).map(([id, { name }]) => ({ id, name })),
        waters: Object.entries(waters).map(([id, { name }]) => ({ id, name })),
        salts: Object.keys(salts),
        acids: Object.keys(reagents),
      }
    },
    water: ({ water, ...options }) =>
      answered(async () => {
        const { verdict, reading } = await waterAnswer(await onlyNamed(water), defined(options))
        return waterView(verdict, reading)
      }),
    recipe: (question) =>
      answered(async () => {
        const options = await recipeOptions(question)
        return JSON.parse(jsonOf(await prepareRecipe(options), saltUnit(question.unit)))
      }),
    stocks: (question) =>
      answered(async () => {
        const { stocks, tank, coldest, measured, acidStrength, strongAcid } = question
        return stocksAnswer({
          ...(await recipeOptions(question)),
          ...{ stocks, tank, coldest, measured, in: question.in, strongAcid },
          ...(acidStrength === undefined ? {} : { acidStrength }),
        })
      }),
    amend: ({ laboratory, water, only, ...options }) =>
      answered(async () =>
        amendAnswer({
          ...defined(options),
          lab: laboratory,
          ...(water === undefined ? {} : { water: await onlyNamed(water) }),
          ...(only === undefined ? {} : { only: only.join(',') }),
        }),
      ),
  }
}

async function recipeOptions(question: DeskRecipeQuestion): Promise<RecipeOptions> {
  const { crop, stage, volume, ammonium, unit, pin, band, only, water, sample, acid, ph, scale } = question
  return {
    ...{ crop, stage, volume, ammonium, unit, pin, band, shelf: 'all', elementUnit: 'mg/L' },
    water: await onlyNamed(water),
    ...defined({ sample, acid, ph, scale }),
    ...(only === undefined ? {} : { only: only.join(',') }),
  }
}

type Defined<Given> = { [Key in keyof Given]: Exclude<Given[Key], undefined> }

/** Without what was not said. */
function defined<Given extends object>(given: Given): Defined<Given> {
  return Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined)) as Defined<Given>
}

/** A water by its name or with its text: a path would be a file of this machine. */
async function onlyNamed(water: FileOrText): Promise<FileOrText> {
  if (typeof water !== 'string') return water
  const { waters } = await readKnownWaters()
  if (Object.hasOwn(waters, water)) return water
  throw new CommandFailure('usage', `No water is called "${water}"; known are ${Object.keys(waters).join(', ')}`)
}

async function answered(ask: () => Promise<unknown>): Promise<DeskAnswer> {
  try {
    return { kind: 'answer', json: await ask() }
  } catch (error) {
    if (error instanceof CommandFailure) return { kind: 'refused', why: error.message }
    throw error
  }
}
