/** What `tarnward recipe --stocks … --json` prints, as a schema. */

import { z } from 'zod'

const index = z
  .number()
  .nullable()
  .describe('log10 of ion activity product over solubility product; above 0 it settles; null where an ion is absent')

const saturation = z
  .object({
    gypsum: index,
    brushite: index.describe('calcium phosphate'),
    isSignOnly: z.boolean().describe('ionic strength above 1 mol/L: only the sign of the indices is worth reading'),
  })
  .describe('25 °C')

const solubility = z.object({
  solid: z.string().describe('what would crystallise first'),
  share: z.number().describe('of what dissolves alone at the coldest, 1 is the edge'),
  shareMax: z.number().describe('the most to rely on'),
  solubilityGPerL: z.number(),
  tabulatedC: z.number().describe('the temperature the figure is for'),
  isOptimistic: z.boolean().describe('the tank gets colder than any figure known; shareMax is lowered'),
})

const mistake = z.object({
  kind: z.enum(['wrong hydrate', 'half bag', 'forgotten', 'weighed twice', 'swapped tanks', 'half water']),
  salt: z.string().describe('empty where it is about the whole tank'),
  text: z.string(),
  dsPerM: z.number().describe('what the dilution would show'),
  isSeen: z.boolean().describe('differs from the expected reading by more than 3 %'),
})

const check = z.object({
  measuredDsPerM: z.number(),
  verdict: z.enum(['as-expected', 'too-low', 'too-high']),
  ratio: z.number().describe('measured over expected'),
  perhaps: z.array(z.string()).readonly().describe('mistakes that would show this reading'),
})

const tank = z.object({
  name: z.string(),
  factor: z.number().describe('times working strength'),
  tankL: z.number(),
  salts: z
    .array(z.object({ salt: z.string(), grams: z.number(), gPerL: z.number(), how: z.string() }))
    .readonly()
    .describe('in the order of dissolving'),
  mlPerLMakeUp: z.number().describe('of stock in a litre of finished solution'),
  injector: z.string().describe('ratio for an injector, stock to finished solution'),
  mlForVolume: z.number().describe('of stock for the volume of the recipe'),
  dilutedDsPerM: z.number().describe('EC to expect of 10 mL made up to 1 L with pure water, 25 °C'),
  dilutedLowDsPerM: z.number(),
  dilutedHighDsPerM: z.number(),
  mistakes: z.array(mistake).readonly(),
  solubility: z.array(solubility).readonly(),
  factorMax: z.number().optional().describe('the strongest this tank may be; absent where no solubility is known'),
  saturation,
  saturationInSourceWater: saturation.describe('if the tank were filled with the source water'),
  cautions: z.array(z.string()).readonly(),
  check: check.optional().describe('the reading given with --measured'),
})

const acid = z.object({
  name: z.string(),
  strengthEqPerL: z.number(),
  tankL: z.number(),
  bottleMl: z.number(),
  mlPerLMakeUp: z.number(),
  mlForVolume: z.number(),
  dilutedDsPerM: z.number(),
  steps: z.array(z.string()).readonly(),
  cautions: z.array(z.string()).readonly(),
})

const common = {
  schema: z.literal('tarnward/stocks/1'),
  crop: z.string(),
  water: z.string(),
  volumeL: z.number(),
  coldestC: z.number(),
  unmet: z.array(z.string()).readonly().describe('elements the recipe leaves outside their bands'),
}

const planned = z.object({
  ...common,
  kind: z.literal('stocks'),
  tanks: z.array(tank).readonly(),
  acid: acid.optional(),
  notes: z.array(z.string()).readonly(),
  cautions: z.array(z.string()).readonly(),
})

const refused = z.object({
  ...common,
  kind: z.literal('refused'),
  refusals: z
    .array(
      z.object({
        tank: z.string(),
        pair: z
          .array(z.string())
          .readonly()
          .describe('the two that must not meet; one solid where it would crystallise'),
        why: z.string(),
        nextStep: z.string(),
      }),
    )
    .readonly(),
})

export const stocksOutput = z
  .discriminatedUnion('kind', [planned, refused])
  .describe('stock tanks for a recipe, or why they are refused')

export type StocksView = z.output<typeof planned>
export type StocksRefusedView = z.output<typeof refused>
export type TankView = z.output<typeof tank>
