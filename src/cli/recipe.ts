/** `tarnward recipe`: all salts at once for a crop, a water and a volume. */

import { ELEMENT_INDEX } from '../chemistry/element.ts'
import type { Acid } from '../formulation/recipe/acid-plan.ts'
import { readAcid } from '../formulation/recipe/acid-strength.ts'
import { type Acidified, type AcidifiedQuestion, solveWithAcid } from '../formulation/recipe/acidified.ts'
import type { RecipeBand } from '../formulation/recipe/recipe.ts'
import { type RecipeSheet, sheetOf } from '../formulation/recipe/recipe-sheet.ts'
import { ELEMENT_UNITS, type ElementUnit } from '../formulation/units/element-unit.ts'
import { readQuantity } from '../formulation/units/quantity.ts'
import { type Dimension, readUnit, type Unit } from '../formulation/units/unit.ts'
import type { Water } from '../formulation/water/water.ts'
import { CommandFailure } from './command-failure.ts'
import { recipeBands, withBandWishes } from './recipe-crop.ts'
import { type CropEntry, type FileOrText, readCrop, readShelf } from './recipe-files.ts'
import { jsonOf, recipeOutput } from './recipe-schema.ts'
import { shelfOf } from './recipe-shelf.ts'
import { recipeText } from './recipe-text.ts'
import { doubtsOf } from './water-doubt.ts'
import { readKnownWaters, readWater } from './water-files.ts'
import { jsonSchemaText } from './water-schema.ts'

export interface RecipeOptions {
  readonly crop: string
  readonly crops?: string
  readonly stage: string
  readonly water: FileOrText
  readonly sample?: string
  readonly volume: string
  readonly shelf: string
  readonly only?: string
  readonly pin?: readonly string[]
  readonly band?: readonly string[]
  readonly acid?: string
  readonly ph?: string
  readonly ammonium: string
  readonly scale?: string
  readonly unit: string
  readonly elementUnit: string
  readonly json?: boolean
  readonly jsonSchema?: boolean
}

export interface PreparedRecipe {
  readonly crop: CropEntry
  readonly stage: string
  readonly water: Water
  readonly volumeL: number
  readonly bands: readonly RecipeBand[]
  readonly question: AcidifiedQuestion
  readonly answer: Acidified
  readonly sheet: RecipeSheet
  readonly notes: readonly string[]
}

/** Prints the recipe, as text or JSON, or the schema of that JSON. @throws CommandFailure for what cannot be read */
export async function recipe(options: RecipeOptions): Promise<void> {
  if (options.jsonSchema) {
    process.stdout.write(jsonSchemaText(recipeOutput))
    return
  }
  const unit = saltUnit(options.unit)
  const elementUnit = elementUnitOf(options.elementUnit)
  const prepared = await prepareRecipe(options)
  process.stdout.write(options.json ? jsonOf(prepared, unit) : recipeText(prepared, { unit, elementUnit }))
}

/** Everything a recipe is printed from; other commands take it from here. */
export async function prepareRecipe(options: Omit<RecipeOptions, 'unit' | 'elementUnit'>): Promise<PreparedRecipe> {
  const volumeL = quantityOf('--volume', options.volume, 'volume')
  const crop = await readCrop(options.crop, options.crops)
  const bands = withBandWishes(recipeBands(crop, strengthOf(options.stage)), options.band ?? [])
  const known = await readKnownWaters()
  const reading = await readWater(known, { from: options.water, sample: options.sample })
  const { water } = reading
  const { salts: entries } = await readShelf(options.shelf)
  const only = options.only?.split(',').filter((name) => name.trim() !== '')
  const shelf = shelfOf({
    ...{ entries, pins: options.pin ?? [], volumeL, phHigh: crop.ph.high },
    ...(only === undefined ? {} : { only }),
  })
  const present = presentOf(water)
  const question: AcidifiedQuestion = {
    ...{ presentMmolPerL: present.mmolPerL, bands, salts: shelf.salts },
    ammoniumShareMax: shareOf('--ammonium', options.ammonium),
    presentMeqPerL: present.meqPerL,
    ...(water.ph === undefined ? {} : { presentPh: water.ph }),
    targetPh: phOf(options.ph) ?? crop.ph.aim,
    ...acidOf(options.acid),
  }
  const answer = solveWithAcid(question)
  if (answer.kind === 'no-answer') {
    throw new CommandFailure('failed', `No recipe: ${answer.explanation}. Nothing was verified, so nothing is printed.`)
  }
  const scaleG = options.scale === undefined ? undefined : quantityOf('--scale', options.scale, 'mass')
  const wish = { volumeL, bands, presentMmolPerL: present.mmolPerL, ...(scaleG === undefined ? {} : { scaleG }) }
  const sheet = sheetOf(answer, wish)
  const notes = [...phNotes(sheet.settled.ph, crop, question), ...doubtsOf(reading), ...present.notes, ...shelf.notes]
  return { crop, stage: options.stage, water, volumeL, bands, question, answer, sheet, notes }
}

/** pH is shown to a tenth: what rounds to an edge stands on it. */
const SHOWN_PH = 0.05

function phNotes(ph: number, crop: CropEntry, { acid }: AcidifiedQuestion): string[] {
  const wanted = `The crop wants pH ${crop.ph.low} to ${crop.ph.high}, and this settles at ${ph.toFixed(1)}.`
  if (ph > crop.ph.high + SHOWN_PH && acid === undefined) {
    return [`${wanted} Name an acid (nitric acid 60 %, say), so that what it brings is counted in.`]
  }
  if (ph >= crop.ph.low - SHOWN_PH) return []
  return [`${wanted} Leave a little of the water’s alkalinity, or raise it with a little potassium carbonate.`]
}

/** What of the water counts. Iron without a chelate falls out; alkalinity that nobody measured is the ions’. */
function presentOf(water: Water): { mmolPerL: Float64Array; meqPerL: number; notes: string[] } {
  const mmolPerL = Float64Array.from(water.mmolPerL)
  const notes: string[] = []
  if (mmolPerL[ELEMENT_INDEX.Fe]! > 0) {
    mmolPerL[ELEMENT_INDEX.Fe] = 0
    notes.push('The iron of the water is not counted: without a chelate it turns to rust.')
  }
  if (water.alkalinity === undefined) {
    notes.push('The alkalinity of the water was not measured and is taken as 0: pH and acid are not to be relied on.')
  } else if (water.alkalinity.isFromIons) {
    notes.push('The alkalinity of the water was not measured; it is taken from its ions.')
  }
  return { mmolPerL, meqPerL: water.alkalinity?.meqPerL ?? 0, notes }
}

/** Young plants are fed weaker; common practice, no source. */
const STAGES: Readonly<Record<string, number>> = { seedling: 0.5, young: 0.75, full: 1 }

function strengthOf(stage: string): number {
  const strength = Object.hasOwn(STAGES, stage) ? STAGES[stage] : undefined
  if (strength !== undefined) return strength
  throw new CommandFailure('usage', `--stage: found "${stage}"; allowed: ${Object.keys(STAGES).join(', ')}`)
}

function quantityOf(flag: string, text: string, dimension: Dimension): number {
  const read = readQuantity(text, [dimension])
  if (read.kind === 'unfit') throw new CommandFailure('usage', `${flag}: ${read.problem}`)
  if (read.value > 0) return read.value
  throw new CommandFailure('usage', `${flag}: found "${text}"; more than 0 is needed`)
}

function shareOf(flag: string, text: string): number {
  const percent = Number(text.replace(/\s*%\s*$/, ''))
  if (percent >= 0 && percent <= 100) return percent / 100
  throw new CommandFailure('usage', `${flag}: found "${text}"; 0 to 100 % is allowed`)
}

function phOf(text: string | undefined): number | undefined {
  if (text === undefined) return undefined
  const ph = Number(text)
  if (ph >= 4.5 && ph <= 7.5) return ph
  throw new CommandFailure('usage', `--ph: found "${text}"; 4.5 to 7.5 is allowed`)
}

function acidOf(text: string | undefined): { acid?: Acid; pinnedAcidMlPerL?: number } {
  if (text === undefined || text === 'none') return {}
  const [named = '', amount] = text.split('=')
  const read = readAcid(named)
  if (read.kind === 'unfit') throw new CommandFailure('usage', `--acid: ${read.problem}`)
  if (amount === undefined) return { acid: read.acid }
  const pinned = readQuantity(amount, ['volume-per-volume'])
  if (pinned.kind === 'unfit') throw new CommandFailure('usage', `--acid: ${pinned.problem}`)
  return { acid: read.acid, pinnedAcidMlPerL: pinned.value }
}

export function saltUnit(text: string): Unit {
  const unit = readUnit(text)
  if (unit.kind === 'unfit') throw new CommandFailure('usage', `--unit: ${unit.problem}`)
  if (unit.dimension === 'mass-per-volume' || unit.dimension === 'mass') return unit
  throw new CommandFailure(
    'usage',
    `--unit: found "${text}"; a mass such as oz, or a mass in a volume such as g/L or oz/100gal, is needed`,
  )
}

function elementUnitOf(text: string): ElementUnit {
  const unit = ELEMENT_UNITS.find((one) => one === (text === 'ppm' ? 'mg/L' : text))
  if (unit !== undefined) return unit
  throw new CommandFailure('usage', `--element-unit: found "${text}"; allowed: ${ELEMENT_UNITS.join(', ')}, ppm`)
}
