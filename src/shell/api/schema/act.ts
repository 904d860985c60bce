/** What people do by hand to water and crop. */

import { z } from 'zod'
import { atMs, by, doneAtMs, id, taken } from './common.ts'
import { periodQuery } from './dose.ts'
import { route } from './route.ts'

const litres = z.number().positive().max(100_000)
const name = z.string().min(1).max(48)

/** One act; the amounts are what was done, in the units of their names. */
export const act = z
  .discriminatedUnion('act', [
    z.strictObject({ act: z.literal('salt-added'), doneAtMs, salt: id, massG: z.number().positive() }),
    z.strictObject({ act: z.literal('drained'), doneAtMs, volumeL: litres }),
    z.strictObject({ act: z.literal('topped-up'), doneAtMs, volumeL: litres }),
    z.strictObject({
      act: z.literal('stock-refilled'),
      doneAtMs,
      stock: id,
      volumeMl: z.number().positive().meta({ description: 'what the bottle holds now' }),
      batchStrength: z
        .number()
        .positive()
        .optional()
        .meta({ description: 'over what the recipe says: 0.5 for half a bag' }),
      batch: z.string().max(100).optional().meta({ description: 'name of the mixing: lots, date, who' }),
    }),
    z.strictObject({ act: z.literal('transplanted'), doneAtMs, crop: id, plants: z.int().positive(), cohort: name }),
    z.strictObject({ act: z.literal('harvested'), doneAtMs, cohort: name }),
    z.strictObject({ act: z.literal('noted'), doneAtMs, text: z.string().trim().min(1).max(2000) }),
    z.strictObject({
      act: z.literal('changed'),
      doneAtMs,
      drainedL: litres,
      filledL: litres,
      fill: z
        .record(z.string(), z.number().nonnegative())
        .optional()
        .meta({ description: 'what the new water holds, mg/L of each element; the source water where absent' }),
    }),
    z.strictObject({ act: z.literal('bottle-weighed'), doneAtMs, stock: id, massG: z.number().positive() }),
    z.strictObject({ act: z.literal('rinsed'), doneAtMs }),
    z.strictObject({ act: z.literal('probe-checked'), doneAtMs, probe: id }),
  ])
  .meta({ id: 'Act' })

export const actRoutes = {
  act: route({
    method: 'POST',
    path: '/api/act',
    role: 'grower',
    summary: 'Log what was done by hand',
    body: z.strictObject({ by, act }),
    answers: { 200: { description: 'logged', schema: taken } },
    needsKey: true,
  }),
  acts: route({
    method: 'GET',
    path: '/api/acts',
    role: 'viewer',
    summary: 'What people did and said: acts, notes, instructions, each with who and why',
    query: periodQuery,
    answers: {
      200: {
        description: 'newest first',
        schema: z
          .object({
            acts: z.array(
              z.object({
                atMs,
                doneAtMs: atMs.optional(),
                by: z.string(),
                kind: z.enum(['act', 'instruction', 'laboratory', 'withdrawal', 'other']),
                name: z.string().meta({ description: 'salt-added, hold, …' }),
                text: z.string(),
                reason: z.string().optional(),
              }),
            ),
          })
          .meta({ id: 'Acts' }),
      },
    },
  }),
} as const

export type ActBody = z.input<typeof act>
