/** The files of an amendment, as the question that formulation answers. */

import { ELEMENTS } from '../chemistry/element.ts'
import { alkalinityToMeqPerL } from '../chemistry/hardness.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import { NEW_WATER_ACIDS, type NewWater, type NewWaterAcid, newWater } from '../formulation/amend/new-water.ts'
import { chooseSample } from '../formulation/laboratory/choose-sample.ts'
import { readLaboratoryReport } from '../formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../formulation/laboratory/report.ts'
import type { RecipeSalt } from '../formulation/recipe/recipe.ts'
import { stockSettings } from '../reservoir/configure-stock.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'
import { type FileOrText, fileNameOf, readReportText, readShelf } from './recipe-files.ts'
import { shelfOf } from './recipe-shelf.ts'
import { readKnownWaters, readWater } from './water-files.ts'

/** One thing to add: a salt by the gram, or a stock by the millilitre. */
export interface Addable {
  readonly salt: RecipeSalt
  readonly unit: 'g' | 'mL'
  /** of salt in one gram or millilitre */
  readonly saltG: number
}

/** What most growers of leaves have at hand; used where no shelf is named. All stand in the salts file. */
const USUAL_SHELF = [
  ...['calcium ammonium nitrate decahydrate', 'potassium nitrate', 'potassium sulfate', 'monopotassium phosphate'],
  ...['magnesium sulfate heptahydrate', 'iron DTPA 11 %', 'manganese sulfate monohydrate'],
  ...['zinc sulfate heptahydrate', 'copper sulfate pentahydrate', 'boric acid', 'sodium molybdate dihydrate'],
] as const

export interface Shelf {
  readonly addables: readonly Addable[]
  /** salts that could be bought */
  readonly catalogue: readonly RecipeSalt[]
  readonly remarks: readonly string[]
}

/** The sample that a person means, or a failure that says which there are. */
export async function readSample(file: FileOrText, label: string | undefined): Promise<LaboratorySample> {
  const reading = readLaboratoryReport(fileNameOf(file), await readReportText(file))
  if (!reading.ok) throw new CommandFailure('data', reading.errors.map(formatReportError).join('\n'))
  const choice = chooseSample(reading.report, label)
  if (choice.ok) return choice.sample
  throw new CommandFailure('usage', `${choice.message} Name it with --sample.`)
}

export interface ShelfWish {
  /** a salts file, or all; absent for the usual salts */
  readonly file?: string | undefined
  /** names with commas between */
  readonly only?: string | undefined
  readonly volumeL: number
  /** the highest pH the crop's solution may reach: some chelates lose their iron there */
  readonly phHigh: number
}

/** The salts of a shelf file, of the house, or the usual ones. */
export async function saltShelf({ file, only, volumeL, phHigh }: ShelfWish): Promise<Shelf> {
  const own = await readShelf('all')
  const isUsual = file === undefined && only === undefined
  const { salts: entries } = file === undefined || file === 'all' ? own : await readShelf(file)
  const names = only?.split(',').filter((name) => name.trim() !== '') ?? (isUsual ? USUAL_SHELF : undefined)
  const shelf = shelfOf({ entries, pins: [], volumeL, phHigh, ...(names === undefined ? {} : { only: names }) })
  const remark = 'No --shelf was named: the usual greenhouse salts are taken to be at hand.'
  return {
    addables: shelf.salts.map((salt) => ({ salt, unit: 'g', saltG: 1 })),
    catalogue: shelfOf({ entries: own.salts, pins: [], volumeL, phHigh }).salts,
    remarks: isUsual ? [remark, ...shelf.notes] : shelf.notes,
  }
}

export interface SiteInputs {
  readonly shelf: Shelf
  readonly rawWater: RawWater
}

export interface RawWater {
  readonly mmolPerL: Float64Array
  readonly alkalinityMeqPerL: number
}

/** The stocks of a site and its own make-up water. Acids and bases are left to the pumps: they are for pH. */
export async function siteInputs(siteFile: string): Promise<SiteInputs> {
  const { site, salts } = await readConfiguration(siteFile)
  const stocks = site.stocks.filter((stock) => 'salts' in stock)
  const addables = stocks.map((stock): Addable => {
    const { mmolPerMl, saltGPerMl } = stockSettings(stock, salts)
    return { salt: { name: stock.id, mmolPerG: mmolPerMl }, unit: 'mL', saltG: saltGPerMl }
  })
  const mmolPerL = Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, site.source.elements[name]))
  const alkalinityMeqPerL = alkalinityToMeqPerL(site.source.alkalinityMgPerLCaco3, 'mg/L CaCO3')
  return {
    shelf: { addables, catalogue: [], remarks: ['Amounts are mL of the stocks of the site file.'] },
    rawWater: { mmolPerL, alkalinityMeqPerL },
  }
}

/** Water by name or report, with its acid. Without one new water is taken as pure, and the remark says so. */
export async function newWaterFrom(
  from: FileOrText | undefined,
  ofSite: RawWater | undefined,
  phAim: number,
  acid: NewWaterAcid,
): Promise<{ readonly water: NewWater; readonly remarks: readonly string[] }> {
  if (from === undefined && ofSite === undefined) {
    const water = { mmolPerL: new Float64Array(ELEMENTS.length), acidMeqPerL: 0 }
    return { water, remarks: ['No --water was named: new water is taken as pure, and brings nothing.'] }
  }
  const raw = from === undefined ? ofSite! : await namedWater(from)
  const water = newWater(raw, phAim, acid)
  const remark = `New water counts with ${water.acidMeqPerL.toFixed(2)} meq/L of ${acid} acid, which takes it to pH ${phAim}.`
  return { water, remarks: water.acidMeqPerL > 0 ? [remark] : [] }
}

async function namedWater(from: FileOrText): Promise<RawWater> {
  const { water } = await readWater(await readKnownWaters(), { from })
  return { mmolPerL: water.mmolPerL, alkalinityMeqPerL: water.alkalinity?.meqPerL ?? 0 }
}

/** The acid that `--acid` names. @throws CommandFailure with those there are */
export function readNewWaterAcid(text: string): NewWaterAcid {
  if (Object.hasOwn(NEW_WATER_ACIDS, text)) return text as NewWaterAcid
  const allowed = Object.keys(NEW_WATER_ACIDS).join(', ')
  throw new CommandFailure('usage', `--acid: found "${text}"; allowed are ${allowed}`)
}
