/** What a route of the API is: everything that a client, a document and a test must know of it. */

import type { z } from 'zod'

/** Who may ask. Each may also do what those before it may. */
export const ROLES = ['anyone', 'viewer', 'grower', 'technician'] as const
export type Role = (typeof ROLES)[number]

export interface Route {
  readonly method: 'GET' | 'POST'
  /** parts in braces are parameters, as in OpenAPI */
  readonly path: string
  /** the least role; where the body decides (an instruction), the least that any body needs */
  readonly role: Role
  readonly summary: string
  readonly params?: z.ZodObject
  readonly query?: z.ZodObject
  readonly body?: z.ZodType
  /** answers by status; refusals (problem details) go without saying */
  readonly answers: Readonly<Record<number, Answer>>
  /** `Idempotency-Key` must be sent: it can move liquid, or changes what will */
  readonly needsKey?: boolean
  readonly bodyMaxBytes?: number
  /** agreed, but not served yet */
  readonly later?: true
}

export interface Answer {
  readonly description: string
  /** absent for what is no JSON */
  readonly schema?: z.ZodType
  /** application/json unless given */
  readonly type?: string
}

/** A route as data; its types are kept. */
export function route<const R extends Route>(one: R): R {
  return one
}
