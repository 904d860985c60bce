/** What `tarnward water --json` prints, as a schema. */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'
import { CRITERIA } from '../formulation/water/guide.ts'

const level = z.enum(['good', 'watch', 'treat', 'refuse', 'unknown'])
const reverseOsmosisShare = z
  .number()
  .optional()
  .describe('share of reverse-osmosis water that would make it good, 0 to 1')

export const notedValues = z
  .array(z.object({ analyte: z.string(), asWritten: z.string(), why: z.string() }).readonly())
  .readonly()
  .describe('what the report says that is not used here')

const criterion = z.object({
  name: z.enum(CRITERIA),
  figure: z.number().optional().describe('in `unit`; absent where it was not measured'),
  unit: z.string(),
  level: level.describe('good: use; watch; treat; refuse; unknown: not measured'),
  classes: z
    .array(z.object({ name: z.string(), meaning: z.string(), source: z.string() }))
    .readonly()
    .describe('the class in each guide'),
  meaning: z.string().describe('what the figure means for this crop'),
  remedies: z.array(z.string()).readonly(),
  reverseOsmosisShare,
  figures: z.record(z.string(), z.number()).describe('figures behind the sentences, units in their names'),
})

const acidOption = z.object({
  acid: z.string(),
  needMeqPerL: z.number().describe('what the aerated water needs in the end'),
  mlPer1000L: z.number(),
  firstHourMlPer1000L: z.number().describe('what brings the pH to its aim before carbon dioxide has left'),
  firstHourPh: z.number().describe('pH right after all of it is in'),
  brings: z.object({ element: z.enum(ELEMENTS), mgPerL: z.number() }),
  isWithinBand: z.boolean().describe('with what the water holds, what it brings stays within the crop’s band'),
})

export const waterOutput = z
  .object({
    schema: z.literal('tarnward/water/1'),
    water: z.string(),
    crop: z.string(),
    level: level.exclude(['unknown']).describe('the worst of all criteria'),
    sentence: z.string(),
    criteria: z.array(criterion).readonly(),
    acids: z.array(acidOption).readonly(),
    reverseOsmosisShare,
    notMeasured: z.array(z.string()).readonly(),
    doubts: z.array(z.string()).readonly().describe('what does not fit in the report'),
    noted: notedValues,
  })
  .describe('a verdict on a source water for a crop')

/** A schema as JSON Schema text, for --json-schema. */
export function jsonSchemaText(schema: z.ZodType): string {
  return `${JSON.stringify(z.toJSONSchema(schema, { io: 'output' }), null, 2)}\n`
}
