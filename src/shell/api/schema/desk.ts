/** The desk: water, recipe, stock tanks, amendment. The same questions and answers as `tarnward water|recipe|amend --json`. */

import { z } from 'zod'
import { route } from './route.ts'

const fileText = z
  .strictObject({ fileName: z.string().min(1).max(200), text: z.string().min(1) })
  .meta({ description: 'a laboratory’s file' })
const short = z.string().min(1).max(200)

/** A water by name, or a report of it. */
const water = z.union([short, fileText]).meta({ description: 'a name such as reverse-osmosis, or a laboratory’s file' })

export const deskWaterBody = z.strictObject({
  water,
  crop: short.default('butterhead-lettuce'),
  sample: short.optional(),
  ec: short.optional().meta({ description: 'from a meter of your own, e.g. 0.6 mS/cm' }),
  fluoride: short.optional(),
  chlorine: short.optional(),
  chloramine: short.optional(),
})

export const deskRecipeBody = z.strictObject({
  crop: short.default('butterhead-lettuce'),
  stage: z.enum(['seedling', 'young', 'full']).default('full'),
  water: water.default('reverse-osmosis'),
  sample: short.optional(),
  volume: short.default('1000L'),
  only: z.array(short).max(100).optional().meta({ description: 'names of salts at hand; all where absent' }),
  pin: z.array(short).max(50).default([]).meta({ description: 'fixed by hand: calcium nitrate=0.9 g/L' }),
  band: z.array(short).max(50).default([]).meta({ description: 'K=150..180..250, mg/L' }),
  acid: short.optional(),
  ph: short.optional(),
  ammonium: short.default('15'),
  scale: short.optional(),
  unit: short.default('g/L'),
})

export const deskStocksBody = deskRecipeBody.extend({
  stocks: short.default('A:100x,B:100x'),
  tank: short.default('20L'),
  coldest: short.default('10C'),
  in: z.array(short).max(50).default([]),
  measured: z.array(short).max(10).default([]),
  acidStrength: short.optional(),
  strongAcid: z.boolean().default(false),
})

export const deskAmendBody = z.strictObject({
  laboratory: fileText.meta({ description: 'the report of the used reservoir' }),
  volume: short,
  crop: short.default('butterhead-lettuce'),
  sample: short.optional(),
  water: water.optional(),
  acid: z.enum(['nitric', 'phosphoric', 'sulfuric']).default('nitric'),
  only: z.array(short).max(100).optional(),
  step: short.default('0.01'),
  ammoniumShare: short.default('0.15'),
  accept: z.boolean().default(false),
})

export const deskChoices = z
  .object({
    crops: z.array(z.object({ id: z.string(), name: z.string() })),
    waters: z.array(z.object({ id: z.string(), name: z.string() })),
    salts: z.array(z.string()),
    acids: z.array(z.string()),
  })
  .meta({ id: 'DeskChoices' })

/** Answers are those of the command line, `--json-schema` prints them. */
const answered = (description: string) => ({
  200: {
    description,
    schema: z.looseObject({ schema: z.string() }).meta({ description: `as \`${description} --json-schema\`` }),
  },
})
const FILE_MAX_BYTES = 1024 * 1024

export const deskRoutes = {
  choices: route({
    method: 'GET',
    path: '/api/desk/choices',
    role: 'viewer',
    summary: 'Crops, waters, salts and acids there are',
    answers: { 200: { description: 'the choices', schema: deskChoices } },
  }),
  water: route({
    method: 'POST',
    path: '/api/desk/water',
    role: 'viewer',
    summary: 'May this water be used for this crop, and what has to be done to it',
    body: deskWaterBody,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: answered('tarnward water'),
  }),
  recipe: route({
    method: 'POST',
    path: '/api/desk/recipe',
    role: 'viewer',
    summary: 'Which salts, and how much of each; solved again with whatever is pinned',
    body: deskRecipeBody,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: answered('tarnward recipe'),
  }),
  stocks: route({
    method: 'POST',
    path: '/api/desk/stocks',
    role: 'viewer',
    summary: 'The recipe as stock tanks with a card to mix each by',
    body: deskStocksBody,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: answered('tarnward recipe --stocks'),
  }),
  amend: route({
    method: 'POST',
    path: '/api/desk/amend',
    role: 'viewer',
    summary: 'From a used reservoir’s report to what must be weighed in, renewed or thrown away',
    body: deskAmendBody,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: answered('tarnward amend'),
  }),
} as const

export type DeskWaterQuestion = z.output<typeof deskWaterBody>
export type DeskRecipeQuestion = z.output<typeof deskRecipeBody>
export type DeskStocksQuestion = z.output<typeof deskStocksBody>
export type DeskAmendQuestion = z.output<typeof deskAmendBody>
export type DeskChoices = z.output<typeof deskChoices>
