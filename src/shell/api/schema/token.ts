/** Who may do what: tokens with a role, kept only as hashes. */

import { z } from 'zod'
import { atMs, id, taken } from './common.ts'
import { route } from './route.ts'

const role = z.enum(['viewer', 'grower', 'technician'])

export const token = z.object({
  id: z.string(),
  name: z.string().meta({ description: 'whose it is; stands in the ledger beside what they do' }),
  role,
  createdAtMs: atMs,
  expiresAtMs: atMs.optional(),
  revokedAtMs: atMs.optional(),
  lastUsedAtMs: atMs.optional(),
})

export const tokens = z.object({ tokens: z.array(token) }).meta({ id: 'Tokens' })

export const me = z
  .object({
    role: z.enum(['anyone', 'viewer', 'grower', 'technician']),
    name: z.string().optional(),
    expiresAtMs: atMs.optional(),
  })
  .meta({ id: 'Me' })

export const tokenRoutes = {
  me: route({
    method: 'GET',
    path: '/api/me',
    role: 'anyone',
    summary: 'Who this request comes from, and what they may do',
    answers: { 200: { description: 'you', schema: me } },
  }),
  session: route({
    method: 'POST',
    path: '/api/session',
    role: 'anyone',
    summary:
      'Sign this browser in: sets a cookie that scripts cannot read, which the event stream needs away from this machine',
    body: z.strictObject({ token: z.string().min(1).max(200) }),
    answers: { 200: { description: 'signed in', schema: me } },
  }),
  sessionEnd: route({
    method: 'POST',
    path: '/api/session/end',
    role: 'anyone',
    summary: 'Sign this browser out',
    answers: { 200: { description: 'signed out', schema: me } },
  }),
  list: route({
    method: 'GET',
    path: '/api/tokens',
    role: 'technician',
    summary: 'Every token there is, without its secret',
    answers: { 200: { description: 'the tokens', schema: tokens } },
  }),
  create: route({
    method: 'POST',
    path: '/api/tokens',
    role: 'technician',
    summary: 'A new token; its secret is shown this once',
    body: z.strictObject({
      name: z.string().trim().min(1).max(100),
      role,
      expiresInDays: z.number().positive().max(3650).optional(),
    }),
    answers: {
      201: { description: 'made', schema: z.object({ secret: z.string(), token }).meta({ id: 'NewToken' }) },
    },
  }),
  revoke: route({
    method: 'POST',
    path: '/api/tokens/{id}/revoke',
    role: 'technician',
    summary: 'A token is good for nothing from now on',
    params: z.strictObject({ id }),
    answers: { 200: { description: 'revoked', schema: taken } },
  }),
} as const

export type Tokens = z.output<typeof tokens>
export type Me = z.output<typeof me>
