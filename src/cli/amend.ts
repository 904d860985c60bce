/** `tarnward amend`: a used reservoir’s report in, grams or millilitres out. */

import { type Amendment, amend as solveAmendment } from '../formulation/amend/amend.ts'
import { usedReservoir } from '../formulation/amend/used-reservoir.ts'
import type { LaboratorySample } from '../formulation/laboratory/report.ts'
import { judgeReport, type ReportVerdict } from '../formulation/laboratory/report-verdict.ts'
import { readQuantity } from '../formulation/units/quantity.ts'
import { newWaterFrom, readNewWaterAcid, readSample, saltShelf, siteInputs } from './amend-inputs.ts'
import { type AmendedView, amendOutput, type HeldView } from './amend-schema.ts'
import { amendedText, heldText } from './amend-text.ts'
import { type AmendContext, amendedView, heldView } from './amend-view.ts'
import { CommandFailure } from './command-failure.ts'
import { recipeBands } from './recipe-crop.ts'
import { type FileOrText, readCrop } from './recipe-files.ts'
import { jsonSchemaText } from './water-schema.ts'

export interface AmendOptions {
  readonly lab?: FileOrText
  readonly volume?: string
  readonly crop: string
  readonly crops?: string
  readonly sample?: string
  readonly water?: FileOrText
  readonly shelf?: string
  readonly only?: string
  readonly stocks?: string
  readonly acid: string
  readonly step: string
  readonly ammoniumShare: string
  readonly accept?: boolean
  readonly json?: boolean
  readonly jsonSchema?: boolean
}

/** Prints one answer. A report whose charges do not add up is held, with an exit code of its own, unless accepted. */
export async function amend(options: AmendOptions): Promise<void> {
  if (options.jsonSchema) {
    process.stdout.write(jsonSchemaText(amendOutput))
    return
  }
  const view = await amendAnswer(options)
  if (options.json) process.stdout.write(`${JSON.stringify(view)}\n`)
  else process.stdout.write(view.kind === 'held' ? heldText(view) : amendedText(view))
  if (view.kind === 'held') process.exitCode = 1
}

/** The amendment, or the report held. @throws CommandFailure for what cannot be read */
export async function amendAnswer(options: AmendOptions): Promise<HeldView | AmendedView> {
  const { lab, volume } = options
  if (lab === undefined)
    throw new CommandFailure('usage', 'amend needs --lab, the laboratory’s file of the used reservoir')
  if (volume === undefined) throw new CommandFailure('usage', 'amend needs --volume, e.g. 220L')
  const volumeL = litres('--volume', volume)
  const sample = await readSample(lab, options.sample)
  const verdict = judgeReport(sample)
  if (verdict.kind === 'suspect' && !options.accept) return amendOutput.parse(heldView(sample, verdict))
  const { context, amendment } = await answer(options, sample, verdict, volumeL)
  return amendOutput.parse(amendedView(context, amendment))
}

async function answer(
  options: AmendOptions,
  sample: LaboratorySample,
  verdict: ReportVerdict,
  volumeL: number,
): Promise<{ context: AmendContext; amendment: Amendment }> {
  const crop = await readCrop(options.crop, options.crops)
  const { shelf: file, only } = options
  const site = options.stocks === undefined ? undefined : await siteInputs(options.stocks)
  if (site !== undefined && (file !== undefined || only !== undefined)) {
    throw new CommandFailure('usage', 'Say either --shelf (salts by the gram) or --stocks (a site’s stocks by the mL)')
  }
  const shelf = site?.shelf ?? (await saltShelf({ file, only, volumeL, phHigh: crop.ph.high }))
  const acid = readNewWaterAcid(options.acid)
  const { water, remarks } = await newWaterFrom(options.water, site?.rawWater, crop.ph.aim, acid)
  const bands = recipeBands(crop)
  const used = usedReservoir(sample, bands)
  const amendment = solveAmendment({
    ...{ used, volumeL, bands },
    shelf: shelf.addables.map(({ salt }) => salt),
    catalogue: shelf.catalogue,
    newWaterMmolPerL: water.mmolPerL,
    ammoniumShareMax: share('--ammonium-share', options.ammoniumShare),
  })
  if (amendment.kind === 'no-answer') throw new CommandFailure('failed', amendment.explanation)
  const doubts = verdict.kind === 'suspect' ? [`Accepted in spite of this: ${verdict.why}`] : verdict.remarks
  const context = {
    ...{ sample, verdict, volumeL, used, bands, crop: crop.name, phAim: crop.ph.aim, addables: shelf.addables },
    acidMeqPerL: water.acidMeqPerL,
    step: step(options.step),
    remarks: [...doubts, ...shelf.remarks, ...remarks],
  }
  return { context, amendment }
}

function litres(flag: string, text: string): number {
  const read = readQuantity(text, ['volume'])
  if (read.kind === 'unfit') throw new CommandFailure('usage', `${flag}: ${read.problem}`)
  if (read.value > 0) return read.value
  throw new CommandFailure('usage', `${flag}: found "${text}"; more than 0 is needed`)
}

/** The step of scale and measure alike: 0.01 is 0.01 g of salt, or 0.01 mL of stock. */
function step(text: string): number {
  return above0('--step', text, Number(text.replace(/ ?(g|mL)$/, '')))
}

function share(flag: string, text: string): number {
  const value = Number(text)
  if (value >= 0 && value <= 1) return value
  throw new CommandFailure('usage', `${flag}: found "${text}"; a share from 0 to 1 is allowed`)
}

function above0(flag: string, text: string, value: number): number {
  if (value > 0 && value < Infinity) return value
  throw new CommandFailure('usage', `${flag}: found "${text}"; a number above 0 is needed, e.g. 0.1`)
}
