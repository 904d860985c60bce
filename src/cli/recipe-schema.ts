/** What `tarnward recipe --json` prints, as a schema. */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'
import { inUnit } from '../formulation/units/quantity.ts'
import type { Unit } from '../formulation/units/unit.ts'
import type { PreparedRecipe } from './recipe.ts'

const salt = z.object({
  name: z.string(),
  gPerL: z.number(),
  g: z.number().describe('for the whole volume'),
  isPinned: z.boolean().describe('fixed by hand'),
  weighedG: z.number().optional().describe('what the scale can weigh; absent where no scale was named'),
  isTooCoarse: z.boolean().optional().describe('the scale is off by more than 5 % of it'),
  amount: z.number().describe('in the unit asked for'),
  unit: z.string(),
})

const acid = z.object({
  name: z.string(),
  mlPerL: z.number(),
  ml: z.number().describe('for the whole volume'),
  needMeqPerL: z.number().optional().describe('what the aerated solution needs; absent where it was fixed by hand'),
  firstHourMl: z.number().optional().describe('what brings the pH to its aim before carbon dioxide has left'),
  firstHourPh: z.number().optional().describe('pH right after all of it is in'),
})

const element = z.object({
  element: z.enum(ELEMENTS).describe('nitrogen by its form, as N; all others as the element'),
  waterMgPerL: z.number(),
  fromSalts: z.array(z.object({ name: z.string(), mgPerL: z.number() })).readonly(),
  totalMgPerL: z.number(),
  totalMmolPerL: z.number(),
  lowMgPerL: z.number(),
  aimMgPerL: z.number(),
  highMgPerL: z.number(),
  place: z.enum(['low', 'in-band', 'high']),
  weighedMgPerL: z.number().optional().describe('the total with what the scale can weigh'),
})

export const recipeOutput = z
  .object({
    schema: z.literal('tarnward/recipe/1'),
    crop: z.string(),
    stage: z.string(),
    water: z.string(),
    volumeL: z.number(),
    salts: z.array(salt).readonly(),
    acid: acid.optional().describe('absent where none was named'),
    elements: z.array(element).readonly(),
    unmet: z
      .array(z.object({ element: z.enum(ELEMENTS), kind: z.enum(['low', 'high']), why: z.string() }))
      .readonly()
      .describe('elements outside their bands, each with its reason'),
    settled: z
      .object({ ph: z.number(), alkalinityMeqPerL: z.number(), conductivityDsPerM: z.number() })
      .describe('calculated, in balance with the air, 25 °C; 1 dS/m = 1 mS/cm'),
    saltG: z.number().describe('all salts together, for the whole volume'),
    isLeastSalt: z.boolean().describe('false where the last stage was not verified: a little less salt may do'),
    notes: z.array(z.string()).readonly(),
  })
  .describe('amounts of salts for a crop, a water and a volume')

/** The line that `--json` prints, amounts in the unit asked for. @throws where it does not fit its own schema */
export function jsonOf({ crop, stage, water, sheet, notes }: PreparedRecipe, unit: Unit): string {
  const salts = sheet.salts.map((one) => ({
    ...one,
    amount: inUnit(unit.dimension === 'mass' ? one.g : one.gPerL, unit),
    unit: unit.text,
  }))
  const output = { schema: 'tarnward/recipe/1', crop: crop.name, stage, water: water.name, ...sheet, salts, notes }
  return `${JSON.stringify(recipeOutput.parse(output))}\n`
}
