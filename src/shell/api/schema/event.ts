/** What happens, as it happens. */

import { z } from 'zod'
import { atMs } from './common.ts'
import { route } from './route.ts'

export const event = z
  .object({
    sequence: z.number().meta({ description: 'only grows; the id of the server-sent event' }),
    atMs,
    kind: z.string().meta({ description: '`scan` events tell only that new readings are there' }),
    text: z.string(),
  })
  .meta({ id: 'Event' })

export const eventRoutes = {
  events: route({
    method: 'GET',
    path: '/api/events',
    role: 'viewer',
    summary: 'Server-sent events: each data line is one Event; resumed by Last-Event-ID. Scans come as `event: scan`',
    answers: { 200: { description: 'a stream without end', type: 'text/event-stream' } },
  }),
} as const
