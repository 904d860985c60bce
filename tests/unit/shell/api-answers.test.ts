import { join } from 'node:path'
import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { z } from 'zod'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { isServed } from '../../../src/shell/api/openapi.ts'
import { ALL_ROUTES } from '../../../src/shell/api/schema/index.ts'
import type { Route } from '../../../src/shell/api/schema/route.ts'
import { createHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'
import { type ApiSite, apiSite } from './api-site.ts'

const KEY = 'key-of-this-process'
let site: ApiSite
let server: FastifyInstance
let stop: () => Promise<void>

beforeAll(async () => {
  site = await apiSite(30)
  const store = await openAccessStore(join(scratchFolder(), 'access.db'))
  const access = createAccess({ store, nowMs: () => site.clock.wallMs(), localKey: KEY })
  server = createHttp({ view: site.view, site: site.site, access, port: 0, clock: site.clock })
  stop = async () => {
    await server.close()
    await site.stop()
    store.close()
  }
})
afterAll(() => stop())

let asked = 0
async function ask(method: 'GET' | 'POST', url: string, body?: object, headers: Record<string, string> = {}) {
  return server.inject({
    ...{ method, url, remoteAddress: `127.2.${asked >> 8}.${asked++ & 255}` },
    headers: { host: 'localhost', authorization: `Bearer ${KEY}`, 'idempotency-key': crypto.randomUUID(), ...headers },
    ...(body ? { payload: body } : {}),
  })
}

/** The answer as its route’s own schema reads it, nothing left out and nothing beside it. */
function asPromised<R extends Route>(route: R, status: number, json: unknown) {
  const schema = route.answers[status]?.schema as z.ZodType | undefined
  if (!schema) throw new Error(`${route.path} promises no JSON with ${status}`)
  const read = schema.safeParse(json)
  expect(read.error?.issues ?? []).toEqual([])
  expect(read.data).toEqual(json)
  return read.data
}

const QUERIES: Readonly<Record<string, string>> = {
  '/api/history': '?from=FROM&to=TO&series=conductivity,ph,K,volume,top-up',
}

const gets = ALL_ROUTES.filter((route) => isServed(route) && route.method === 'GET' && route.answers[200]?.schema)

describe('every answer', () => {
  it.each(gets.map((route): [string, Route] => [route.path, route]))(
    'of %s is as the document promises',
    async (path, route) => {
      const now = site.clock.wallMs()
      const query = (QUERIES[path] ?? '').replace('FROM', String(now - 86_400_000)).replace('TO', String(now))
      const answer = await ask('GET', `${path}${query}`)
      expect(answer.statusCode).toBe(200)
      asPromised(route, 200, answer.json())
    },
  )
})

describe('the reservoir now', () => {
  it('orders elements by what the crop does with them, each with band, interval and uptake', async () => {
    const { elements, probes, plan, sample } = (await ask('GET', '/api/now')).json()
    const habits = elements.map(({ habit }: { habit: string }) => habit)
    expect([...new Set(habits)]).toEqual(['taken-quickly', 'with-the-water', 'left-behind'])
    const potassium = elements.find(({ element }: { element: string }) => element === 'K')
    expect(potassium.low90MgPerL).toBeLessThan(potassium.mgPerL)
    expect(potassium.uptakeMgPerLPerDay).toBeGreaterThan(0)
    expect(elements.at(-1).habit).toBe('left-behind')
    expect(probes.map(({ quantity }: { quantity: string }) => quantity)).toContain('conductivity')
    expect(plan.doses.length).toBeGreaterThan(0)
    expect(sample.text).toMatch(/No laboratory report yet/)
  })

  it('says what is wrong first when a person holds', async () => {
    await ask('POST', '/api/hold', { by: 'Ines', reason: 'smell of acid' })
    const { wrong, hold } = (await ask('GET', '/api/now')).json()
    expect(wrong).toContainEqual(expect.objectContaining({ kind: 'hold', text: 'On hold by Ines: smell of acid' }))
    expect(hold).toMatchObject({ by: 'Ines', reason: 'smell of acid' })
    const words = { by: 'Ines', reason: 'aired', instruction: { instruction: 'release' } }
    expect((await ask('POST', '/api/instruction', words)).statusCode).toBe(200)
    expect((await ask('GET', '/api/now')).json().hold).toBeUndefined()
  })
})

describe('trends', () => {
  it('are thinned to the points asked for and mark every dose with who and how much', async () => {
    const now = site.clock.wallMs()
    const url = `/api/history?from=${now - 86_400_000}&to=${now}&series=ph,K&points=50`
    const { series, markers } = (await ask('GET', url)).json()
    const [ph, potassium] = series
    expect(ph.atMs.length).toBeLessThanOrEqual(51)
    expect(ph.atMs.length).toBeGreaterThan(40)
    expect(potassium.low[5]).toBeLessThan(potassium.mean[5])
    expect(potassium.band.low).toBeLessThan(potassium.band.high)
    const doses = markers.filter(({ kind }: { kind: string }) => kind === 'dose')
    expect(doses.length).toBeGreaterThan(0)
    const { shots } = (await ask('GET', `/api/doses?from=${now - 86_400_000}&to=${now}&limit=2000`)).json()
    const given = shots.reduce(
      (sum: number, shot: { deliveredHighMl?: number }) => sum + (shot.deliveredHighMl ?? 0),
      0,
    )
    const marked = doses.reduce((sum: number, dose: { volumeMl: number }) => sum + dose.volumeMl, 0)
    expect(marked).toBeCloseTo(given, 0)
  })

  it('of an unknown series or a turned period are refused with what is allowed', async () => {
    const unknown = await ask('GET', '/api/history?from=0&to=1000&series=color')
    expect([unknown.statusCode, unknown.json().detail]).toEqual([
      400,
      expect.stringContaining('allowed are conductivity'),
    ])
    expect((await ask('GET', '/api/history?from=1000&to=0')).statusCode).toBe(400)
  })
})

describe('what people did', () => {
  it('is logged with who, once for each key, also when the key is sent again', async () => {
    const key = { 'idempotency-key': 'topped-up-by-hand-1' }
    const act = { by: 'Ines', act: { act: 'topped-up', volumeL: 3 } }
    const first = await ask('POST', '/api/act', act, key)
    expect([first.statusCode, first.json()]).toEqual([200, { taken: true }])
    const again = await ask('POST', '/api/act', act, key)
    expect([again.statusCode, again.json()]).toEqual([200, { taken: true, repeated: true }])
    const other = await ask('POST', '/api/act', { by: 'Ines', act: { act: 'topped-up', volumeL: 4 } }, key)
    expect(other.statusCode).toBe(422)
    const { acts } = (await ask('GET', '/api/acts')).json()
    const mine = acts.filter(({ name }: { name: string }) => name === 'topped-up')
    expect(mine).toEqual([expect.objectContaining({ by: 'Ines', kind: 'act' })])
  })

  it('that cannot be is refused in words, and its key may be used again', async () => {
    const key = { 'idempotency-key': 'salt-of-no-shelf' }
    const act = { act: { act: 'salt-added', salt: 'gold dust', massG: 3 } }
    const refused = await ask('POST', '/api/act', act, key)
    expect([refused.statusCode, refused.json().detail]).toEqual([
      422,
      expect.stringContaining('no salt "gold dust" on the shelf'),
    ])
    expect((await ask('POST', '/api/act', act, key)).statusCode).toBe(422)
  })
})
