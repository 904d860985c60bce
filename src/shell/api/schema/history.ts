/** Trends with what happened in them. */

import { z } from 'zod'
import { atMs } from './common.ts'
import { route } from './route.ts'

const MARKERS = ['dose', 'report', 'top-up', 'act', 'alarm', 'trip', 'instruction', 'sample', 'restart'] as const

export const historyQuery = z.strictObject({
  from: z.coerce.number().meta({ description: 'epoch milliseconds UTC' }),
  to: z.coerce.number().meta({ description: 'epoch milliseconds UTC; at most 400 days after `from`' }),
  series: z.string().max(400).default('conductivity,ph,temperature,level').meta({
    description:
      'with commas: conductivity, ph, temperature, level, top-up, water-used (L since `from`), volume, or elements such as K',
  }),
  points: z.coerce.number().int().min(10).max(2000).default(400).meta({ description: 'at most, in each series' }),
})

const series = z.object({
  series: z.string(),
  unit: z.string(),
  atMs: z.array(z.number()).meta({ description: 'middle of each interval' }),
  mean: z.array(z.number()),
  low: z.array(z.number()).meta({ description: 'least of a measured interval, or 5 % edge of an estimate' }),
  high: z.array(z.number()),
  band: z.object({ low: z.number(), aim: z.number(), high: z.number() }).optional(),
})

export const history = z
  .object({
    from: atMs,
    to: atMs,
    intervalMs: z.number(),
    series: z.array(series),
    markers: z.array(
      z.object({
        atMs,
        kind: z.enum(MARKERS),
        text: z.string(),
        stock: z.string().optional(),
        volumeMl: z.number().optional().meta({ description: 'upper end of what was delivered' }),
        volumeL: z.number().optional(),
        count: z.number().optional().meta({ description: 'doses of one stock in one interval are one marker' }),
        by: z.string().optional(),
        id: z.string().optional(),
      }),
    ),
    isComplete: z.boolean().meta({ description: 'false where older records were not reached' }),
  })
  .meta({ id: 'History' })

export const historyRoutes = {
  history: route({
    method: 'GET',
    path: '/api/history',
    role: 'viewer',
    summary: 'Series over time, thinned to as many points as asked, with doses, reports, top-ups and acts marked',
    query: historyQuery,
    answers: { 200: { description: 'the series', schema: history } },
  }),
} as const

export type History = z.output<typeof history>
export type Series = History['series'][number]
export type Marker = History['markers'][number]
