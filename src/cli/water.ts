/** `tarnward water`: may this water be used for this crop, and what has to be done to it? */

import type { z } from 'zod'
import { readQuantity } from '../formulation/units/quantity.ts'
import type { Dimension } from '../formulation/units/unit.ts'
import { figureText } from '../formulation/water/criterion.ts'
import { judgeWater, type WaterVerdict, wordsOf } from '../formulation/water/verdict.ts'
import type { WaterExtras } from '../formulation/water/water.ts'
import { CommandFailure } from './command-failure.ts'
import { folded } from './desk-text.ts'
import { ACID_CAUTION, DISCHARGE_CAUTION } from './recipe-caution.ts'
import { waterCrop } from './recipe-crop.ts'
import { type FileOrText, readCrop } from './recipe-files.ts'
import { doubtsOf } from './water-doubt.ts'
import { readKnownWaters, readWater, type WaterReading } from './water-files.ts'
import { jsonSchemaText, waterOutput } from './water-schema.ts'

export interface WaterOptions {
  readonly crop: string
  readonly crops?: string
  readonly sample?: string
  readonly ec?: string
  readonly fluoride?: string
  readonly chlorine?: string
  readonly chloramine?: string
  readonly json?: boolean
  readonly jsonSchema?: boolean
}

/** Prints the verdict; a refused water ends with a code of its own. */
export async function water(from: string | undefined, options: WaterOptions): Promise<void> {
  if (options.jsonSchema) {
    process.stdout.write(jsonSchemaText(waterOutput))
    return
  }
  if (from === undefined)
    throw new CommandFailure('usage', 'water needs a laboratory’s file, or a name such as reverse-osmosis')
  const { verdict, reading } = await waterAnswer(from, options)
  process.stdout.write(options.json ? `${JSON.stringify(waterView(verdict, reading))}\n` : page(verdict, reading))
  if (verdict.level === 'refuse') process.exitCode = 1
}

/** The verdict on a water, and how it was read. @throws CommandFailure for what cannot be read */
export async function waterAnswer(
  from: FileOrText,
  options: WaterOptions,
): Promise<{ readonly verdict: WaterVerdict; readonly reading: WaterReading }> {
  const known = await readKnownWaters()
  const crop = waterCrop(await readCrop(options.crop, options.crops))
  const reading = await readWater(known, { from, sample: options.sample, extras: typedFigures(options) })
  const reverseOsmosis = known.waters['reverse-osmosis']!
  return { verdict: judgeWater({ water: reading.water, crop, guides: known.guides, reverseOsmosis }), reading }
}

/** Figures typed beside the report. */
export function typedFigures(options: Pick<WaterOptions, 'ec' | 'fluoride' | 'chlorine' | 'chloramine'>): WaterExtras {
  const ec = typed('--ec', options.ec, 'conductivity')
  const [fluoride, chlorine, chloramine] = (['fluoride', 'chlorine', 'chloramine'] as const).map((name) =>
    typed(`--${name}`, options[name], 'mass-per-volume'),
  )
  return {
    ...(ec === undefined ? {} : { conductivityDsPerM: ec }),
    ...(fluoride === undefined ? {} : { fluorideMgPerL: 1000 * fluoride }),
    ...(chlorine === undefined ? {} : { chlorineMgPerL: 1000 * chlorine }),
    ...(chloramine === undefined ? {} : { chloramineMgPerL: 1000 * chloramine }),
  }
}

function typed(flag: string, text: string | undefined, dimension: Dimension): number | undefined {
  if (text === undefined) return undefined
  const read = readQuantity(text, [dimension])
  if (read.kind === 'quantity') return read.value
  throw new CommandFailure('usage', `${flag}: ${read.problem}`)
}

/** As machines read it. @throws where it does not fit its own schema */
export function waterView(verdict: WaterVerdict, reading: WaterReading): z.output<typeof waterOutput> {
  const { noted } = reading
  return waterOutput.parse({ schema: 'tarnward/water/1', ...verdict, doubts: doubtsOf(reading), noted })
}

const MARKS = { good: ' ', watch: '?', treat: '!', refuse: 'X', unknown: '-' } as const

function page(verdict: WaterVerdict, reading: WaterReading): string {
  const { noted } = reading
  const hasAcid = verdict.acids.length > 0
  const lines = [
    ...folded(`${verdict.water}, for ${verdict.crop}: ${verdict.level.toUpperCase()}`),
    ...folded(verdict.sentence),
    ...doubtsOf(reading).flatMap((doubt) => folded(doubt, 'Doubt: ', '  ')),
    '',
    ...verdict.criteria.filter(({ level }) => level !== 'unknown').flatMap(criterionLines),
    ...(verdict.notMeasured.length > 0
      ? [...folded(verdict.notMeasured.map(wordsOf).join(', '), 'Not measured: ', '  '), '']
      : []),
    ...(noted.length > 0
      ? folded(
          noted.map(({ analyte, asWritten, why }) => `${analyte} ${asWritten} (${why})`).join('; '),
          'Left aside: ',
          '  ',
        )
      : []),
    'Signs: ? watch   ! treat   X refuse',
    ...folded(
      'Guide classes sort a figure; the chemistry and the crop decide. 1 mg/L = 1 ppm (common practice, no source).',
    ),
    ...(hasAcid ? ['', ...folded(ACID_CAUTION)] : []),
    ...folded(DISCHARGE_CAUTION),
  ]
  return `${lines.join('\n')}\n`
}

function criterionLines(criterion: WaterVerdict['criteria'][number]): string[] {
  const { name, figure, unit, level, classes, meaning, remedies } = criterion
  const head = `${MARKS[level]} ${wordsOf(name)} ${figureText(figure!)} ${unit}`.trimEnd()
  return [
    ...folded(`${meaning.replace(/\.$/, '')}.`, `${head}: `, '    '),
    ...remedies.flatMap((remedy) => folded(remedy, '    > ', '      ')),
    ...classes.flatMap((one) => folded(`${one.name}, ${one.meaning} [${one.source}]`, '    - ', '      ')),
    '',
  ]
}
