/** Limits: what each means, who changed it, what a change would have done. */

import { z } from 'zod'
import { atMs, by, reason, taken } from './common.ts'
import { route } from './route.ts'

const limit = z.object({
  path: z.string().meta({ description: 'as in the limits file, with dots: stocks.acid.shotMaxMl' }),
  group: z.string().meta({ description: 'heading under which it stands: probes, water, commands, a stock, acid' }),
  meaning: z.string(),
  unit: z.string(),
  value: z.number(),
  fileValue: z.number().meta({ description: 'in the limits file' }),
  ceiling: z.number().optional().meta({ description: 'the file’s own: cannot be raised from here' }),
  floor: z.number().optional(),
  min: z.number().meta({ description: 'least that is allowed at all' }),
  max: z.number(),
  isChangeable: z.boolean(),
  changed: z.object({ by: z.string(), atMs, reason: z.string(), from: z.number() }).optional(),
})

export const limits = z.object({ limits: z.array(limit) }).meta({ id: 'Limits' })

const change = z.strictObject({ limit: z.string().min(1).max(200), value: z.number() })

/** Two answers that are kept apart: the gate judged again (exact), the bands as they might have gone (a model). */
const inBand = {
  inBandWas: z.number().meta({ description: 'share of time, 0 to 1' }),
  inBandWouldBe: z.number(),
  low90: z.number(),
  high90: z.number(),
}

export const limitsPreview = z
  .object({
    from: atMs,
    to: atMs,
    gate: z
      .object({
        judged: z.number().meta({ description: 'verdicts judged again' }),
        permitted: z.number(),
        refused: z.number(),
        changedVerdicts: z.array(
          z.object({
            atMs,
            commandId: z.string(),
            stock: z.string(),
            volumeMl: z.number(),
            was: z.enum(['permit', 'refuse']),
            wouldBe: z.enum(['permit', 'refuse']),
            why: z.array(z.string()),
          }),
        ),
        text: z.string(),
      })
      .meta({ description: 'recorded facts judged again in order: exact' }),
    bands: z
      .object({
        elements: z.array(z.object({ element: z.string(), ...inBand })),
        allSix: z.object(inBand).meta({ description: 'NO3-N, P, K, Ca, Mg and S in their bands at once' }),
        waterL: z.object({ was: z.number(), wouldBe: z.number() }).optional(),
        text: z.string(),
      })
      .optional()
      .meta({ description: 'a model with its interval; absent where none could be made' }),
  })
  .meta({ id: 'LimitsPreview' })

export const limitsRoutes = {
  list: route({
    method: 'GET',
    path: '/api/limits',
    role: 'viewer',
    summary: 'Every limit with meaning, unit, ceiling, and who changed it last and why',
    answers: { 200: { description: 'the limits', schema: limits } },
  }),
  preview: route({
    method: 'POST',
    path: '/api/limits/preview',
    role: 'viewer',
    summary: 'What other limits would have done in recorded weeks',
    body: z.strictObject({
      changes: z.array(change).min(1).max(50),
      from: atMs.optional(),
      to: atMs.optional(),
      part: z
        .literal('gate')
        .optional()
        .meta({ description: 'the exact part alone, within seconds; the model takes longer' }),
    }),
    answers: { 200: { description: 'in two parts', schema: limitsPreview } },
  }),
  change: route({
    method: 'POST',
    path: '/api/limits',
    role: 'technician',
    summary: 'Change one limit, up to the ceiling of the file',
    body: z.strictObject({
      by,
      reason,
      ...change.shape,
      was: z
        .number()
        .optional()
        .meta({ description: 'the value that was on screen; another one meanwhile is a conflict (409)' }),
    }),
    answers: { 200: { description: 'in force', schema: taken } },
    needsKey: true,
  }),
} as const

export type Limits = z.output<typeof limits>
export type Limit = Limits['limits'][number]
export type LimitsPreview = z.output<typeof limitsPreview>
