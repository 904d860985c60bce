/** Signing in, and who may do what. */

import type { FastifyReply } from 'fastify'
import type { Access, Caller } from '../access/access.ts'
import { SESSION_COOKIE } from '../access/guard.ts'
import { ROUTES } from '../schema/index.ts'
import type { Serve } from '../serve.ts'

const UNKNOWN = 'This token is unknown, has expired or was revoked.'
const NO_TOKENS = 'This server keeps no tokens.'

export function serveTokens(serve: Serve, access: Access | undefined): void {
  serve(ROUTES.token.me, ({ caller }) => ({ status: 200, json: meOf(caller) }))
  serve(ROUTES.token.session, ({ body, reply }) => {
    const caller = /^[\w-]+$/.test(body.token) ? access?.callerOf(body.token) : undefined
    if (!caller) return { status: 401, refused: UNKNOWN }
    setCookie(reply, body.token)
    return { status: 200, json: meOf(caller) }
  })
  serve(ROUTES.token.sessionEnd, ({ reply }) => {
    setCookie(reply, '', 'Max-Age=0')
    return { status: 200, json: { role: 'anyone' } }
  })
  serve(ROUTES.token.list, () =>
    access ? { status: 200, json: { tokens: access.list() } } : { status: 503, refused: NO_TOKENS },
  )
  serve(ROUTES.token.create, async ({ body }) =>
    access ? { status: 201, json: await access.create(body) } : { status: 503, refused: NO_TOKENS },
  )
  serve(ROUTES.token.revoke, async ({ params }) =>
    (await access?.revoke(params.id))
      ? { status: 200, json: { taken: true } }
      : { status: 404, refused: `There is no token ${params.id} that is good for anything.` },
  )
}

function meOf({ role, name, expiresAtMs }: Caller) {
  return { role, ...(name === undefined ? {} : { name }), ...(expiresAtMs === undefined ? {} : { expiresAtMs }) }
}

/** Scripts cannot read it and other sites cannot send it. */
function setCookie(reply: FastifyReply, value: string, more = 'Max-Age=31536000'): void {
  reply.header('set-cookie', `${SESSION_COOKIE}=${value}; Path=/; HttpOnly; SameSite=Strict; ${more}`)
}
