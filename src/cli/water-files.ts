/** Source waters: by name from the package’s own list, or from a laboratory’s report. */

import { z } from 'zod'
import { alkalinityToMeqPerL } from '../chemistry/hardness.ts'
import { number, perElement, text } from '../config/field.ts'
import { chooseSample } from '../formulation/laboratory/choose-sample.ts'
import { readLaboratoryReport } from '../formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../formulation/laboratory/report.ts'
import { CRITERIA, type Guides } from '../formulation/water/guide.ts'
import { type Water, type WaterExtras, waterOf, waterOfSample } from '../formulation/water/water.ts'
import { CommandFailure } from './command-failure.ts'
import { type FileOrText, fileNameOf, ownFile, readChecked, readReportText } from './recipe-files.ts'

const guide = z
  .strictObject({
    source: text('where the figures come from'),
    classes: z
      .array(
        z.strictObject({
          below: number(0, 10_000, 'where the class ends; absent for the last').optional(),
          name: text('the class'),
          meaning: text('what it means'),
        }),
      )
      .min(1),
  })
  .meta({ description: 'one line of classes' })

const water = z
  .strictObject({
    name: text('name for people'),
    source: text('where its figures come from'),
    elements: perElement((name) => number(0, 5000, `${name}, mg/L of the element`).optional(), 'mg/L of the element'),
    alkalinityMgPerLCaco3: number(0, 2000, 'alkalinity', 'mg/L CaCO3'),
    conductivity: number(0, 20, 'conductivity at 25 °C', 'mS/cm').optional(),
    ph: number(3, 10.5, 'pH').optional(),
  })
  .meta({ description: 'a water by name' })

const watersSchema = z.strictObject({
  guides: z
    .strictObject(Object.fromEntries(CRITERIA.map((name) => [name, z.array(guide).optional()])))
    .meta({ description: 'guide values by criterion' }),
  waters: z.record(text('name of a water', 80), water).meta({ description: 'waters by name' }),
})

export interface KnownWaters {
  readonly guides: Guides
  readonly waters: Readonly<Record<string, Water>>
}

/** Guide values and named waters of the package. */
export async function readKnownWaters(): Promise<KnownWaters> {
  const { guides, waters } = await readChecked(ownFile('waters.yaml'), watersSchema)
  const named = Object.entries(waters).map(([id, entry]) => {
    const { conductivity, ph } = entry
    const figures = {
      name: entry.name,
      mgPerL: Object.fromEntries(Object.entries(entry.elements).filter(([, value]) => value !== undefined)),
      alkalinityMeqPerL: alkalinityToMeqPerL(entry.alkalinityMgPerLCaco3, 'mg/L CaCO3'),
      ...(conductivity === undefined ? {} : { conductivityDsPerM: conductivity }),
      ...(ph === undefined ? {} : { ph }),
    }
    return [id, waterOf(figures)]
  })
  return { guides: guides as Guides, waters: Object.fromEntries(named) }
}

export interface WaterWish {
  /** a name of the list, or a laboratory’s report */
  readonly from: FileOrText
  /** which bottle of the report */
  readonly sample?: string | undefined
  readonly extras?: WaterExtras
}

export interface WaterReading {
  readonly water: Water
  /** what the report says that is not used, with the reason */
  readonly noted: LaboratorySample['noted']
  readonly sample?: LaboratorySample
}

/** A water by its name, or from a report; a report that cannot be read ends the command with every error. */
export async function readWater(known: KnownWaters, { from, sample, extras = {} }: WaterWish): Promise<WaterReading> {
  const named = typeof from === 'string' && Object.hasOwn(known.waters, from) ? known.waters[from] : undefined
  if (named !== undefined) return { water: { ...named, ...extras }, noted: [] }
  const names = Object.keys(known.waters).join(', ')
  if (typeof from === 'string' && !/[./\\]/.test(from)) {
    throw new CommandFailure('usage', `No water is called "${from}"; known are ${names}, or name a laboratory’s file`)
  }
  const reading = readLaboratoryReport(fileNameOf(from), await readReportText(from))
  if (!reading.ok) throw new CommandFailure('data', reading.errors.map(formatReportError).join('\n'))
  const choice = chooseSample(reading.report, sample)
  if (!choice.ok) throw new CommandFailure('usage', `${choice.message} Name it with --sample.`)
  const { noted } = choice.sample
  const water = waterOfSample(choice.sample, { ...notedExtras(noted), ...extras })
  const unused = noted.filter((one) => Object.keys(notedExtras([one])).length === 0)
  return { water, noted: unused, sample: choice.sample }
}

/** Disinfectants and fluoride that a report states with their unit. */
function notedExtras(noted: LaboratorySample['noted']): WaterExtras {
  const figure = (pattern: RegExp) => {
    return noted.find(({ analyte, mgPerL }) => pattern.test(analyte) && mgPerL !== undefined)?.mgPerL
  }
  const fluoride = figure(/^\s*(?:F|fluorid|fluoride|fluorures?|fluoruros?)\b/i)
  const chlorine = figure(
    /^\s*(?:(?:free )?chlorine|residual chlorine - free|chlorine, free)\s*(?:[([](?!.*total).*)?$/i,
  )
  const chloramine = figure(/^\s*(?:mono)?chloramine\b/i)
  return {
    ...(fluoride === undefined ? {} : { fluorideMgPerL: fluoride }),
    ...(chlorine === undefined ? {} : { chlorineMgPerL: chlorine }),
    ...(chloramine === undefined ? {} : { chloramineMgPerL: chloramine }),
  }
}
