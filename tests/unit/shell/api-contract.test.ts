import { join } from 'node:path'
import { Validator } from '@seriousme/openapi-schema-validator'
import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createDesk } from '../../../src/cli/desk.ts'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { isServed } from '../../../src/shell/api/openapi.ts'
import { ALL_ROUTES } from '../../../src/shell/api/schema/index.ts'
import type { Role, Route } from '../../../src/shell/api/schema/route.ts'
import type { DaemonView } from '../../../src/shell/daemon-view.ts'
import { createHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'
import { apiSite } from './api-site.ts'

let server: FastifyInstance
let secrets: Record<Exclude<Role, 'anyone'>, string>
let expired: string
let stop: () => Promise<void>

beforeAll(async () => {
  const site = await apiSite()
  const store = await openAccessStore(join(scratchFolder(), 'access.db'))
  let nowMs = Date.UTC(2026, 0, 1)
  const access = createAccess({ store, nowMs: () => nowMs })
  const secretOf = async (role: 'viewer' | 'grower' | 'technician') =>
    (await access.create({ name: `${role} one`, role })).secret
  expired = (await access.create({ name: 'guest', role: 'technician', expiresInDays: 1 })).secret
  nowMs += 2 * 86_400_000
  secrets = {
    viewer: await secretOf('viewer'),
    grower: await secretOf('grower'),
    technician: await secretOf('technician'),
  }
  // a name of its own closes open reading, as behind a proxy
  server = createHttp({
    view: site.view,
    site: site.site,
    desk: createDesk(),
    access,
    port: 0,
    hostNames: ['bench.example'],
  })
  stop = async () => {
    await server.close()
    await site.stop()
    store.close()
  }
})
afterAll(() => stop())

const served = ALL_ROUTES.filter(isServed)
const named = served.map((route): [string, Route] => [`${route.method} ${route.path}`, route])
const pathOf = ({ path }: Route) => path.replaceAll(/\{\w+\}/g, 'nothing-of-this-name')

let asked = 0
function ask(route: Route, headers: Record<string, string>, payload?: string) {
  return server.inject({
    // each from an address of its own, so that the limit on requests is not what refuses them
    ...{ method: route.method, url: pathOf(route), remoteAddress: `127.1.${asked >> 8}.${asked++ & 255}` },
    headers: { host: 'bench.example', 'content-type': 'application/json', ...headers },
    ...(route.method === 'POST' ? { payload: payload ?? '{}' } : {}),
  })
}
const bearer = (secret: string) => ({ authorization: `Bearer ${secret}` })

describe('the document', () => {
  it('is valid OpenAPI 3.1 and names every route that is served, and no other', async () => {
    const answer = await server.inject({ url: '/openapi.json', headers: { host: 'bench.example' } })
    const document = answer.json()
    const verdict = await new Validator().validate(document)
    expect(verdict.errors ?? []).toEqual([])
    expect(verdict.valid).toBe(true)
    const documented = Object.entries(document.paths as Record<string, object>).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method.toUpperCase()} ${path}`),
    )
    expect(documented.toSorted()).toEqual(named.map(([name]) => name).toSorted())
  })

  it('says what a refusal looks like, and no schema in it is only a reference to itself', async () => {
    const answer = await server.inject({ url: '/openapi.json', headers: { host: 'bench.example' } })
    const schemas = answer.json().components.schemas as Record<string, { $ref?: string; properties?: object }>
    expect(Object.keys(schemas['Problem']?.properties ?? {})).toEqual(
      expect.arrayContaining(['status', 'title', 'detail']),
    )
    const empty = Object.entries(schemas).filter(([name, { $ref }]) => $ref === `#/components/schemas/${name}`)
    expect(empty).toEqual([])
  })

  it('cannot be evaded: a route that is not in it cannot be added to the server', () => {
    const other = createHttp({ view: {} as DaemonView, port: 0 })
    expect(() => other.get('/api/secret', () => 'told')).toThrow('GET /api/secret is in no document')
  })
})

describe('strangers', () => {
  const closed = named.filter(([, route]) => route.role !== 'anyone')

  it.each(closed)('without a token get nothing of %s', async (_name, route) => {
    const answer = await ask(route, {})
    expect(answer.statusCode).toBe(401)
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/)
    expect(answer.headers['www-authenticate']).toMatch(/^Bearer/)
  })

  it.each(closed)('with an expired or an invented token get nothing of %s', async (_name, route) => {
    for (const secret of [expired, 'a'.repeat(43)]) expect((await ask(route, bearer(secret))).statusCode).toBe(401)
    expect((await ask(route, { authorization: 'Basic YTpi' })).statusCode).toBe(401)
  })

  it.each(named.filter(([, { method }]) => method === 'POST'))(
    'on a page of another site cannot ask %s',
    async (_name, route) => {
      const headers = { ...bearer(secrets.technician), origin: 'https://elsewhere.example' }
      expect((await ask(route, headers)).statusCode).toBe(403)
    },
  )

  it.each(named)('by a name that only points here get nothing of %s', async (_name, route) => {
    expect((await ask(route, { ...bearer(secrets.technician), host: 'rebound.example' })).statusCode).toBe(421)
  })
})

describe('roles', () => {
  const lower: Readonly<Record<string, readonly ('viewer' | 'grower')[]>> = {
    grower: ['viewer'],
    technician: ['viewer', 'grower'],
  }
  it.each(named.filter(([, { role }]) => lower[role]))(
    '%s is refused to those below its role',
    async (_name, route) => {
      for (const role of lower[route.role]!) {
        const answer = await ask(route, bearer(secrets[role]))
        expect(answer.statusCode).toBe(403)
        expect(answer.json().detail).toContain(`needs the role ${route.role}`)
      }
    },
  )

  it('raising the mode needs a technician, lowering it a grower', async () => {
    const say = (role: 'grower' | 'technician', instruction: object) =>
      server.inject({
        ...{ method: 'POST', url: '/api/instruction' },
        headers: { host: 'bench.example', ...bearer(secrets[role]), 'idempotency-key': crypto.randomUUID() },
        payload: { reason: 'asked for', instruction },
      })
    const mode = (name: string) => ({ instruction: 'mode', mode: name })
    expect((await say('grower', mode('observe'))).statusCode).toBe(200)
    expect((await say('grower', mode('automatic'))).statusCode).toBe(403)
    expect((await say('technician', mode('automatic'))).statusCode).toBe(200)
    expect((await say('grower', mode('observe'))).statusCode).toBe(200)
    expect((await say('grower', { instruction: 'reset', trip: 'pump-overran' })).statusCode).toBe(403)
  })
})

describe('malformed requests', () => {
  const posts = named.filter(([, { method, body }]) => method === 'POST' && body !== undefined)

  it.each(posts)(
    '%s refuses what is no JSON, what is too large, and a field that nobody knows',
    async (_name, route) => {
      const headers = { ...bearer(secrets.technician), 'idempotency-key': crypto.randomUUID() }
      const broken = await ask(route, headers, '{"a":')
      expect(broken.statusCode).toBe(400)
      const large = await ask(route, headers, JSON.stringify({ a: 'x'.repeat(route.bodyMaxBytes ?? 16 * 1024) }))
      expect(large.statusCode).toBe(413)
      const unknown = await ask(route, headers, JSON.stringify({ color: 'blue' }))
      expect(unknown.statusCode).toBe(400)
      expect(unknown.json().faults.length).toBeGreaterThan(0)
      for (const answer of [broken, large, unknown]) expect(answer.headers['content-type']).toMatch(/problem\+json/)
    },
  )

  it.each(named.filter(([, { needsKey }]) => needsKey))(
    '%s is refused without an Idempotency-Key',
    async (_name, route) => {
      const body = exampleOf(route)
      const answer = await ask(route, bearer(secrets.technician), JSON.stringify(body))
      expect([answer.statusCode, answer.json().detail]).toEqual([400, expect.stringContaining('Idempotency-Key')])
    },
  )
})

/** A body that the route’s own schema takes. */
function exampleOf({ path }: Route): object {
  const bodies: Readonly<Record<string, object>> = {
    '/api/instruction': { reason: 'seen', instruction: { instruction: 'release' } },
    '/api/act': { act: { act: 'drained', volumeL: 2 } },
    '/api/laboratory/{id}/withdraw': { reason: 'wrong bottle' },
    '/api/laboratory/{id}/decision': { reason: 'looked at it', decision: 'accept' },
    '/api/laboratory/drawn': {},
    '/api/spot-reading': { quantity: 'K', value: 200 },
    '/api/limits': { reason: 'as agreed', limit: 'probes.phMin', value: 5.2 },
    '/api/commissioning/pump-run': { reason: 'rate', stock: 'acid', runMs: 5000, withWater: true },
  }
  const body = bodies[path]
  if (!body) throw new Error(`no example for ${path}`)
  return body
}
