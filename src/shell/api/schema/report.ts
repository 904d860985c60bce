/** One self-contained HTML file for a period. */

import { z } from 'zod'
import { route } from './route.ts'

export const reportRoutes = {
  report: route({
    method: 'GET',
    path: '/api/report',
    role: 'viewer',
    summary: 'Bands, doses, renewals, water, salt, cost, alarms, laboratory against estimate, batches',
    query: z.strictObject({
      from: z.coerce.number().meta({ description: 'epoch milliseconds UTC' }),
      to: z.coerce.number().meta({ description: 'epoch milliseconds UTC' }),
    }),
    answers: { 200: { description: 'one HTML file', type: 'text/html' } },
  }),
} as const
