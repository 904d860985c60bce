/** Values that stand in many requests and answers. Units are the last part of a name; times are epoch ms UTC. */

import { z } from 'zod'

export const atMs = z.number().meta({ description: 'epoch milliseconds UTC' })
export const modeName = z.enum(['observe', 'advise', 'automatic'])
/** The name of something in the site’s files. */
export const id = z.string().min(1).max(100)
export const reason = z.string().trim().min(1).max(300).meta({ description: 'why, kept in the ledger beside it' })
/** Who says so, where the token does not say it (a token’s own name always goes first). */
export const by = z
  .string()
  .trim()
  .min(1)
  .max(100)
  .optional()
  .meta({ description: 'who says so; the token’s name where absent' })
export const doneAtMs = z
  .number()
  .optional()
  .meta({ description: 'when it was done, epoch milliseconds UTC; now where absent' })

export const band = z.object({
  lowMgPerL: z.number(),
  aimMgPerL: z.number(),
  highMgPerL: z.number(),
})

/** Problem details, RFC 9457. */
export const problem = z
  .object({
    type: z.string().optional(),
    status: z.number(),
    title: z.string(),
    detail: z.string().meta({ description: 'what was found, what is allowed, what to do next' }),
    errors: z.array(z.string()).optional().meta({ description: 'one line for each thing that is wrong' }),
    faults: z
      .array(
        z.object({
          place: z.string().meta({ description: 'field of the request, with dots' }),
          found: z.string(),
          allowed: z.string(),
        }),
      )
      .optional(),
  })
  .meta({ id: 'Problem' })

/** A person’s word that is in force and kept. */
export const taken = z
  .object({
    taken: z.literal(true),
    text: z.string().optional().meta({ description: 'what became of it, a sentence' }),
    repeated: z.boolean().optional().meta({ description: 'this key was known already: nothing was done again' }),
  })
  .meta({ id: 'Taken' })

export type Problem = z.output<typeof problem>
export type Taken = z.output<typeof taken>
