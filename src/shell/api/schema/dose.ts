/** What was planned, judged and delivered, and what the bottles still hold. */

import { z } from 'zod'
import { atMs } from './common.ts'
import { route } from './route.ts'

export const periodQuery = z.strictObject({
  from: z.coerce.number().optional().meta({ description: 'epoch milliseconds UTC; a day before `to` where absent' }),
  to: z.coerce.number().optional().meta({ description: 'epoch milliseconds UTC; now where absent' }),
  limit: z.coerce.number().int().min(1).max(2000).default(200),
})

const shot = z.object({
  commandId: z.string(),
  planId: z.string(),
  atMs,
  stock: z.string(),
  pump: z.string(),
  volumeMl: z.number(),
  verdict: z.enum(['permit', 'refuse']),
  interlocks: z
    .array(
      z.object({
        interlock: z.string(),
        text: z.string().meta({ description: 'what must hold, as a sentence for a grower' }),
        found: z
          .string()
          .optional()
          .meta({ description: 'what was found and what is allowed, with figures; absent in old records' }),
      }),
    )
    .meta({ description: 'those that did not hold; empty where permitted' }),
  purpose: z
    .enum(['ration', 'calibration'])
    .optional()
    .meta({ description: 'absent for a shot of a plan; a calibration went into a measuring glass' }),
  figures: z.record(z.string(), z.union([z.number(), z.string(), z.boolean(), z.null()])),
  outcome: z.enum(['done', 'refused', 'stopped', 'not-sent', 'unknown', 'open', 'never-sent']),
  deliveredLowMl: z.number().optional(),
  deliveredHighMl: z.number().optional(),
  settledAtMs: atMs.optional(),
  nodeSaid: z
    .string()
    .optional()
    .meta({ description: 'why the node refused it or stopped it, in the node’s own words' }),
})

export const doses = z
  .object({
    from: atMs,
    to: atMs,
    plans: z.array(
      z.object({
        planId: z.string(),
        atMs,
        doses: z.array(z.object({ stock: z.string(), volumeMl: z.number(), reason: z.string() })),
        notes: z.array(z.string()),
      }),
    ),
    shots: z.array(shot).meta({ description: 'newest first' }),
    refusals: z
      .array(
        z.object({
          stock: z.string(),
          interlock: z.string(),
          rule: z.string(),
          found: z.string().optional().meta({ description: 'of the last time; absent in old records' }),
          count: z.number(),
          lastAtMs: atMs,
        }),
      )
      .meta({ description: 'what was refused here in the period, one for a stock and an interlock, latest first' }),
    notes: z
      .array(z.object({ text: z.string(), count: z.number(), firstAtMs: atMs, lastAtMs: atMs }))
      .meta({ description: 'what the plans noted, one for a cause however its figures moved, latest first' }),
    totals: z.array(
      z.object({ stock: z.string(), lowMl: z.number(), highMl: z.number(), shots: z.number(), refused: z.number() }),
    ),
  })
  .meta({ id: 'Doses' })

export const stocks = z
  .object({
    stocks: z.array(
      z.object({
        stock: z.string(),
        kind: z.string(),
        node: z.string(),
        pump: z.string(),
        rateMlPerMin: z.number(),
        refilledAtMs: atMs.optional(),
        refilledMl: z.number().optional(),
        remainingMl: z
          .number()
          .optional()
          .meta({ description: 'by the book, least that may be left; absent before a refill was told' }),
        usedPerDayMl: z.number().meta({ description: 'mean of the last seven days' }),
        daysLeft: z.number().optional(),
        costPerL: z.number().optional(),
        costPerDay: z.number().optional(),
        batch: z.string().optional(),
        deliveryFactor: z
          .number()
          .optional()
          .meta({ description: 'strength of this batch as learned, 1 is as written' }),
        blockedBy: z.array(z.string()).meta({ description: 'interlocks that block it now' }),
        blockedWhy: z.array(z.string()).meta({ description: 'what each of them found and allows, one for one' }),
        hourLeftMl: z.number(),
        dayLeftMl: z.number(),
      }),
    ),
  })
  .meta({ id: 'Stocks' })

export const doseRoutes = {
  list: route({
    method: 'GET',
    path: '/api/doses',
    role: 'viewer',
    summary: 'Plans, shots with verdict and figures, settled intervals',
    query: periodQuery,
    answers: { 200: { description: 'of the period', schema: doses } },
  }),
  stocks: route({
    method: 'GET',
    path: '/api/stocks',
    role: 'viewer',
    summary: 'Each bottle with what is left in it, for how many days, at what cost',
    answers: { 200: { description: 'the stocks', schema: stocks } },
  }),
} as const

export type Doses = z.output<typeof doses>
export type Shot = Doses['shots'][number]
export type Stocks = z.output<typeof stocks>
