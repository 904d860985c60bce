/** A route as served: checked on the way in, its key kept where it may move liquid. */

import { createHash } from 'node:crypto'
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify'
import type { z } from 'zod'
import { LedgerFault } from '../../ledger/ledger-fault.ts'
import { type Fault, sendProblem } from '../problem.ts'
import type { Access, Caller } from './access/access.ts'
import type { Route } from './schema/route.ts'

type OutputOf<Schema> = Schema extends z.ZodType ? z.output<Schema> : undefined

/** A request whose parts are as the route says. */
export interface Asked<R extends Route> {
  readonly caller: Caller
  readonly params: OutputOf<R['params']>
  readonly query: OutputOf<R['query']>
  readonly body: OutputOf<R['body']>
  readonly request: FastifyRequest
  readonly reply: FastifyReply
}

/** An answer, or a refusal in words; a refusal says that nothing was done. */
export type Answered =
  | { readonly status: number; readonly json: unknown }
  | { readonly status: number; readonly refused: string; readonly errors?: readonly string[] }

export type Serve = <const R extends Route>(
  route: R,
  handle: (asked: Asked<R>) => Answered | Promise<Answered> | FastifyReply,
) => void

const BODY_MAX_BYTES = 16 * 1024
const KEY = /^[\w-]{8,100}$/

/** Gives a server its routes by one way. */
export function createServe(server: FastifyInstance, access: Access | undefined, nowMs: () => number): Serve {
  return (route, handle) => {
    server.route({
      method: route.method,
      url: route.path.replaceAll(/\{(\w+)\}/g, ':$1'),
      bodyLimit: route.bodyMaxBytes ?? BODY_MAX_BYTES,
      config: { route },
      handler: async (request, reply) => {
        const asked = read(route, request, reply)
        if ('status' in asked) return sendProblem(reply, asked.status, asked.detail, asked.errors, asked.faults)
        if (route.needsKey)
          return once({ access, nowMs, reply, request }, asked.body, () => handle(asked) as Promise<Answered>)
        const answer = await handle(asked)
        // a handler that answered by itself: a reply that is awaited comes back as nothing
        if (reply.sent) return reply
        return 'sent' in answer ? answer : send(reply, answer)
      },
    })
  }
}

interface Misread {
  readonly status: number
  readonly detail: string
  readonly errors: readonly string[]
  readonly faults: readonly Fault[]
}

function read<R extends Route>(route: R, request: FastifyRequest, reply: FastifyReply): Asked<R> | Misread {
  const parts: Record<string, unknown> = {}
  const faults: Fault[] = []
  for (const part of ['params', 'query', 'body'] as const) {
    const schema = route[part]
    if (!schema) continue
    // an empty body is no body, so that a schema’s default can stand in
    const result = schema.safeParse(part === 'body' ? (request.body ?? undefined) : request[part])
    if (result.success) parts[part] = result.data
    else faults.push(...result.error.issues.map((issue) => faultOf(part, issue, request[part])))
  }
  if (faults.length === 0) return { ...parts, caller: request.caller, request, reply } as unknown as Asked<R>
  const errors = faults.map(({ place, allowed }) => `${place}: ${allowed}`)
  return { status: 400, detail: `${route.method} ${route.path} was not asked as it should be.`, errors, faults }
}

function faultOf(part: string, issue: z.core.$ZodIssue, from: unknown): Fault {
  const found = issue.path.reduce<unknown>(
    (value, key) => (value as Record<PropertyKey, unknown> | undefined)?.[key],
    from,
  )
  return {
    place: issue.path.join('.') || part,
    found: found === undefined ? 'nothing' : (JSON.stringify(found) ?? String(found)).slice(0, 200),
    allowed: issue.message,
  }
}

interface Keeping {
  readonly access: Access | undefined
  readonly nowMs: () => number
  readonly request: FastifyRequest
  readonly reply: FastifyReply
}

/** Does what is asked at most once for a key, over restarts too: the key is on the disk before anything is done. */
async function once(keeping: Keeping, body: unknown, act: () => Answered | Promise<Answered>): Promise<FastifyReply> {
  const { access, request, reply } = keeping
  const key = request.headers['idempotency-key']
  if (typeof key !== 'string' || !KEY.test(key)) return sendProblem(reply, 400, NO_KEY)
  if (!access) return send(reply, await act())
  const who = request.caller.name ?? request.caller.by
  const hash = createHash('sha256')
    .update(`${request.url}\n${JSON.stringify(body)}`)
    .digest()
  try {
    const before = await access.store.ask({ who, key, hash, atMs: keeping.nowMs() })
    if (before.kind === 'other-request') return sendProblem(reply, 422, OTHER_REQUEST)
    if (before.kind === 'open') return sendProblem(reply, 409, STILL_OPEN)
    if (before.kind === 'answered')
      return reply.code(before.status).send({ ...JSON.parse(before.json), repeated: true })
    const answer = await act()
    if ('json' in answer) await access.store.answer(who, key, answer.status, JSON.stringify(answer.json))
    else await access.store.forget(who, key)
    return send(reply, answer)
  } catch (error) {
    if (!(error instanceof LedgerFault)) throw error
    return sendProblem(reply, 503, `The key of this request cannot be kept (${error.message}), so nothing is done.`)
  }
}

const NO_KEY =
  'This can move liquid, so it needs an Idempotency-Key: a name of 8 to 100 letters, digits, - or _ that this request keeps when it is sent again.'
const OTHER_REQUEST = 'This Idempotency-Key was used for another request. Give each request a key of its own.'
const STILL_OPEN =
  'This request was begun before, and nobody can say what became of it. Look in the log of acts before you ask with a new key.'

function send(reply: FastifyReply, answer: Answered): FastifyReply {
  if ('json' in answer) return reply.code(answer.status).send(answer.json)
  return sendProblem(reply, answer.status, answer.refused, answer.errors)
}
