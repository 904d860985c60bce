/** What every request must pass before its route is asked: name of the host, origin, rate, role. */

import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify'
import { sendProblem } from '../../problem.ts'
import type { Role, Route } from '../schema/route.ts'
import { type Access, type Caller, isEnough, NOBODY } from './access.ts'
import { createRate, type Rate } from './rate.ts'

declare module 'fastify' {
  interface FastifyRequest {
    caller: Caller
  }
  interface FastifyContextConfig {
    route?: Route
    /** a file of the page */
    isPage?: boolean
  }
}

export interface GuardOptions {
  readonly access?: Access | undefined
  /** names under which the server may be asked; undefined where any name will do */
  readonly names?: readonly string[] | undefined
  /** whoever reaches the server may read: it listens on this machine alone, and no proxy was named */
  readonly isReadingOpen: boolean
  readonly monoMs: () => number
}

/** Nothing inline, nothing from elsewhere, no framing: what a laboratory’s file says can never run. */
const SECURITY_HEADERS = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'permissions-policy': 'camera=(), microphone=(), geolocation=(), payment=()',
}
export const LOOPBACK: readonly string[] = ['127.0.0.1', 'localhost', '::1']
export const SESSION_COOKIE = 'tarnward-token'

/** A page with a few charts asks ten times a second at most; a script that hammers is slowed. Chosen. */
const READS = { burst: 300, perSecond: 50 }
const WRITES = { burst: 60, perSecond: 5 }
/** Secrets of 256 bits need no such guard; a log full of guesses does. */
const WRONG_SECRETS = { burst: 20, perSecond: 0.2 }

/** Puts the guard before every route of a server. */
export function guard(server: FastifyInstance, options: GuardOptions): void {
  const { monoMs } = options
  const rates = {
    reads: createRate({ ...READS, monoMs }),
    writes: createRate({ ...WRITES, monoMs }),
    wrong: createRate({ ...WRONG_SECRETS, monoMs }),
  }
  server.decorateRequest('caller', null as unknown as Caller)
  server.addHook('onRequest', async (request, reply) => {
    reply.headers({ ...SECURITY_HEADERS, 'cache-control': 'no-store' })
    const refusal = refuse(request, options, rates)
    if (refusal) return sendRefusal(reply, refusal)
  })
}

interface Refused {
  readonly status: number
  readonly detail: string
}

function sendRefusal(reply: FastifyReply, { status, detail }: Refused): FastifyReply {
  if (status === 401) reply.header('www-authenticate', 'Bearer realm="tarnward"')
  if (status === 429) reply.header('retry-after', '5')
  return sendProblem(reply, status, detail)
}

interface Rates {
  readonly reads: Rate
  readonly writes: Rate
  readonly wrong: Rate
}

function refuse(request: FastifyRequest, options: GuardOptions, rates: Rates): Refused | undefined {
  request.caller = NOBODY
  const { host } = request.headers
  if (options.names && !options.names.includes(hostNameOf(host)))
    return { status: 421, detail: `This server is not called ${host}. Add the name to http.hostNames if it should be.` }
  const isRead = request.method === 'GET' || request.method === 'HEAD'
  if (!isRead && isForeign(request))
    return { status: 403, detail: 'A page of another site may not do this. Open the daemon’s own page.' }
  if (!(isRead ? rates.reads : rates.writes).take(request.ip)) return TOO_MANY
  const route = request.routeOptions.config.route
  if (!route) return undefined
  return admit(request, route, options, rates)
}

const TOO_MANY: Refused = { status: 429, detail: 'Too many requests from this address; wait some seconds.' }

function admit(request: FastifyRequest, route: Route, options: GuardOptions, rates: Rates): Refused | undefined {
  const secret = secretOf(request)
  const known = secret === undefined ? undefined : options.access?.callerOf(secret)
  if (secret !== undefined && known === undefined && route.role !== 'anyone') {
    if (!rates.wrong.take(request.ip)) return TOO_MANY
    return { status: 401, detail: 'This token is unknown, has expired or was revoked. Sign in again.' }
  }
  const open: Role = options.isReadingOpen ? 'viewer' : 'anyone'
  request.caller = known ?? { ...NOBODY, role: open }
  if (isEnough(request.caller.role, route.role)) return undefined
  return refusalFor(request.caller, route.role)
}

/** Why a caller may not do what needs a role. */
export function refusalFor(caller: Caller, needed: Role): Refused {
  if (caller.by === 'nothing')
    return {
      status: 401,
      detail: `This needs the token of a ${needed}. Sign in; a technician can make one: tarnward token create.`,
    }
  return { status: 403, detail: `This needs the role ${needed}; ${caller.name ?? 'this token'} is a ${caller.role}.` }
}

function secretOf(request: FastifyRequest): string | undefined {
  const bearer = /^Bearer ([\w-]{1,200})$/.exec(request.headers.authorization ?? '')?.[1]
  if (bearer !== undefined) return bearer
  if (request.headers.authorization !== undefined) return ''
  const cookies = (request.headers.cookie ?? '').split(';').map((one) => one.trim().split('='))
  return cookies.find(([name]) => name === SESSION_COOKIE)?.[1]
}

function hostNameOf(host: string | undefined): string {
  return (host ?? '')
    .replace(/:\d+$/, '')
    .replace(/^\[(.*)\]$/, '$1')
    .toLowerCase()
}

function isForeign(request: FastifyRequest): boolean {
  const { origin, host } = request.headers
  const site = request.headers['sec-fetch-site']
  if (site !== undefined && site !== 'same-origin' && site !== 'none') return true
  return origin !== undefined && origin.replace(/^https?:\/\//, '') !== host
}

/** Whether a request comes from this machine, or from the daemon’s own page by its browser’s word. */
export function isNear(request: FastifyRequest): boolean {
  const address = request.ip.replace(/^::ffff:/, '')
  if (address === '::1' || address.startsWith('127.')) return true
  return request.headers['sec-fetch-site'] === 'same-origin' || request.headers.origin !== undefined
}
