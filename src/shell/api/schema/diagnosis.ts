/** What may have gone wrong unseen, and what the site has taught. */

import { z } from 'zod'
import { atMs } from './common.ts'
import { route } from './route.ts'

const explanation = z.object({
  id: z.string(),
  share: z.number().min(0).max(1).meta({ description: 'how likely, among all that was looked at' }),
  sinceMs: atMs,
  sentence: z.string().meta({ description: 'what seems to have happened' }),
  check: z.string().meta({ description: 'how to find out' }),
})

export const diagnosis = z
  .object({
    text: z.string().meta({ description: 'one sentence first' }),
    period: z
      .object({ fromMs: atMs, untilMs: atMs })
      .optional()
      .meta({ description: 'the recorded days that were run again; absent while less than a day is kept' }),
    nothingShare: z
      .number()
      .min(0)
      .max(1)
      .optional()
      .meta({ description: 'how likely it is that nothing out of the ordinary happened' }),
    explanations: z.array(explanation).meta({ description: 'likeliest first; empty where none is worth a sentence' }),
  })
  .meta({ id: 'Diagnosis' })

const believed = z.object({ value: z.number(), low90: z.number(), high90: z.number() })

export const learning = z
  .object({
    text: z.string().meta({ description: 'where what is believed of crop and site comes from' }),
    factors: z.array(
      z.object({
        id: z.string(),
        name: z.string(),
        kind: z.enum(['growth', 'uptake', 'probe', 'delivery', 'water', 'doubt']),
        unit: z.enum(['share', 'pH']).meta({ description: 'share of what is configured, or an offset in pH' }),
        now: believed,
        prior: z.object({ low90: z.number(), high90: z.number() }),
        isLearned: z.boolean().meta({ description: 'known clearly better than at the start' }),
        history: z.array(believed.extend({ sampledAtMs: atMs })).meta({ description: 'after each report' }),
      }),
    ),
    resets: z.array(z.object({ atMs, by: z.string(), reason: z.string() })).meta({ description: 'newest first' }),
  })
  .meta({ id: 'Learning' })

export const diagnosisRoutes = {
  diagnosis: route({
    method: 'GET',
    path: '/api/diagnosis',
    role: 'viewer',
    summary: 'What may have gone wrong unseen: the kept days run again as if each suspicion were true; takes seconds',
    answers: { 200: { description: 'ranked', schema: diagnosis } },
  }),
  learning: route({
    method: 'GET',
    path: '/api/learning',
    role: 'viewer',
    summary:
      'Factors of crop, water, probes and bottles as learned, after each report (afresh: instruction reset-learning)',
    answers: { 200: { description: 'every lasting factor', schema: learning } },
  }),
} as const

export type Diagnosis = z.output<typeof diagnosis>
export type Learning = z.output<typeof learning>
