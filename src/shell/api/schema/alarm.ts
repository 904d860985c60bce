/** Alarms as people see them, plant life first. Acknowledge, shelve and reset are instructions. */

import { z } from 'zod'
import { atMs } from './common.ts'
import { route } from './route.ts'

const alarm = z.object({
  alarm: z.string(),
  state: z.enum(['normal', 'unacknowledged', 'acknowledged', 'returned', 'latched', 'shelved', 'suppressed']),
  priority: z.enum(['urgent', 'high', 'low']),
  isPlantLife: z.boolean(),
  text: z.string(),
  cause: z.string().optional(),
  consequence: z.string().optional(),
  action: z.string().optional(),
  respondWithin: z.string().optional(),
  by: z.string().optional().meta({ description: 'who acknowledged or shelved it' }),
  sinceMs: atMs.optional(),
  shelvedUntilMs: atMs.optional(),
  groups: z.array(z.string()).meta({ description: 'alarms that stand only because of this one' }),
})

export const alarms = z
  .object({
    alarms: z.array(alarm).meta({ description: 'not normal; plant life first, then by priority' }),
    known: z.array(alarm).meta({ description: 'every alarm there is' }),
    trips: z.array(z.object({ trip: z.string(), subject: z.string(), why: z.string(), atMs, text: z.string() })),
    past: z
      .array(z.object({ atMs, alarm: z.string(), state: z.string(), text: z.string() }))
      .meta({ description: 'changes of the last week, newest first, at most 200' }),
  })
  .meta({ id: 'Alarms' })

export const alarmRoutes = {
  list: route({
    method: 'GET',
    path: '/api/alarms',
    role: 'viewer',
    summary: 'Standing alarms and trips, every alarm there is, and what changed lately',
    answers: { 200: { description: 'the alarms', schema: alarms } },
  }),
} as const

export type Alarms = z.output<typeof alarms>
export type Alarm = Alarms['alarms'][number]
