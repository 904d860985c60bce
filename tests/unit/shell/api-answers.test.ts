import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { z } from 'zod'
import { createDesk } from '../../../src/cli/desk.ts'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { isServed } from '../../../src/shell/api/openapi.ts'
import { ALL_ROUTES, ROUTES } from '../../../src/shell/api/schema/index.ts'
import type { LaboratoryPreview } from '../../../src/shell/api/schema/laboratory.ts'
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
  server = createHttp({ view: site.view, site: site.site, desk: createDesk(), access, port: 0, clock: site.clock })
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
  '/api/history': '?from=FROM&to=TO&series=conductivity,ph,K,volume,top-up,water-used',
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

  it('of the water used rise from nothing to what the meter counted', async () => {
    const to = site.clock.wallMs()
    const from = to - 86_400_000
    const { series } = (await ask('GET', `/api/history?from=${from}&to=${to}&series=water-used&points=2000`)).json()
    const [{ mean, unit }] = series
    expect([unit, mean[0]]).toEqual(['L', 0])
    expect(mean).toEqual(mean.toSorted((one: number, other: number) => one - other))
    const { markers } = (await ask('GET', `/api/history?from=${from}&to=${to}&series=ph`)).json()
    const counted = markers.reduce((sum: number, { kind, volumeL = 0 }: { kind: string; volumeL?: number }) => {
      return kind === 'top-up' ? sum + volumeL : sum
    }, 0)
    expect(counted).toBeGreaterThan(1)
    expect(mean.at(-1)).toBeCloseTo(counted, 1)
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

describe('a laboratory’s file', () => {
  const text = (potassium: number) =>
    ['Analyte;Value;Unit', `K;${potassium};mg/L`, 'Ca;170;mg/L', 'Mg;45;mg/L', 'Na;20;mg/L', 'NO3-N;150;mg/L'].join(
      '\n',
    )
  const upload = () => ({
    fileName: 'bottle.csv',
    text: text(150),
    sampledAt: new Date(site.clock.wallMs() - 6 * 3_600_000).toISOString(),
  })

  it('is read and its effect on each element shown before anything is taken', async () => {
    const before = (await ask('GET', '/api/estimate')).json().elements.K.mgPerL
    const answer = await ask('POST', '/api/laboratory/preview', upload())
    expect(answer.statusCode).toBe(200)
    const preview = asPromised(ROUTES.laboratory.preview, 200, answer.json()) as LaboratoryPreview
    const potassium = preview.effects.find(({ element }) => element === 'K')!
    expect(potassium.beforeMgPerL).toBeCloseTo(before, 6)
    expect(potassium.afterMgPerL).toBeLessThan(before)
    expect(potassium.afterSdMgPerL).toBeLessThan(potassium.beforeSdMgPerL)
    expect((await ask('GET', '/api/estimate')).json().elements.K.mgPerL).toBe(before)
    expect((await ask('GET', '/api/laboratory')).json().reports).toEqual([])
  })

  it('once taken moves the estimate as foretold, is listed beside the estimate, known when it comes again, and withdrawn', async () => {
    const file = { ...upload(), accept: true }
    const { effects, id } = (await ask('POST', '/api/laboratory/preview', upload())).json()
    expect((await ask('POST', '/api/laboratory', file)).statusCode).toBe(201)
    const again = await ask('POST', '/api/laboratory', file)
    expect([again.statusCode, again.json()]).toMatchObject([200, { kind: 'accepted', id, known: true }])
    site.clock.advance(1000)
    for (let n = 0; n < 20; n++) await site.loop.take({ kind: 'tick' })
    const foretold = effects.find(({ element }: { element: string }) => element === 'K').afterMgPerL
    expect((await ask('GET', '/api/estimate')).json().elements.K.mgPerL).toBeCloseTo(foretold, 6)
    const list = (await ask('GET', '/api/laboratory')).json()
    asPromised(ROUTES.laboratory.list, 200, list)
    const listed = list.reports[0].values.find(({ element }: { element: string }) => element === 'K')
    expect(listed).toMatchObject({ mgPerL: 150, estimateMgPerL: expect.any(Number) })
    const withdrawn = await ask('POST', `/api/laboratory/${id}/withdraw`, { reason: 'wrong bottle' })
    expect(withdrawn.statusCode).toBe(200)
    expect((await ask('GET', '/api/laboratory')).json().reports[0].state).toBe('withdrawn')
  })

  it('from the future is refused by its name, in days', async () => {
    const sampledAt = new Date(site.clock.wallMs() + 364 * 86_400_000).toISOString()
    const answer = await ask('POST', '/api/laboratory', { ...upload(), sampledAt, accept: true })
    expect([answer.statusCode, answer.json().errors]).toEqual([
      422,
      ['Refused bottle.csv: its sample time lies 364 days in the future'],
    ])
  })

  it('of five thousand rows is refused with what to do, and keeps nobody waiting', async () => {
    const rows = Array.from({ length: 5000 }, (_none, at) => `bottle ${at};K;150;mg/L`)
    const beganMs = performance.now()
    const answer = await ask('POST', '/api/laboratory', {
      ...upload(),
      text: ['Sample;Analyte;Value;Unit', ...rows].join('\n'),
    })
    expect(performance.now() - beganMs).toBeLessThan(50)
    expect([answer.statusCode, answer.json().errors[0]]).toEqual([
      422,
      expect.stringMatching(/5001 lines; up to 250 are read/),
    ])
  })

  it('is announced by the bottle: drawn now, and whether now is a good moment', async () => {
    const moment = (await ask('GET', '/api/laboratory/moment')).json()
    asPromised(ROUTES.laboratory.moment, 200, moment)
    expect(moment.isGood).toBe(moment.checks.every(({ ok }: { ok: boolean }) => ok))
    expect((await ask('POST', '/api/laboratory/drawn', { by: 'Ines' })).statusCode).toBe(200)
    expect((await ask('GET', '/api/laboratory')).json().samples).toMatchObject([{ by: 'Ines' }])
  })
})

describe('calibration', () => {
  it('makes a rate of runs that agree, and says so where they do not', async () => {
    const runs = (volumes: number[]) => ({
      stock: 'acid',
      runs: volumes.map((volumeMl) => ({ runMs: 60_000, volumeMl })),
    })
    const { pumps } = (await ask('GET', '/api/commissioning')).json()
    const rate = pumps.find(({ stock }: { stock: string }) => stock === 'acid').rateMlPerMin
    const good = (await ask('POST', '/api/commissioning/pump-rate', runs([rate, rate * 1.01, rate * 0.99]))).json()
    asPromised(ROUTES.commissioning.pumpRate, 200, good)
    expect(good).toMatchObject({
      verdict: 'good',
      rateMlPerMin: expect.closeTo(rate, 6),
      scatterPercent: expect.closeTo(1, 6),
    })
    expect((await ask('POST', '/api/commissioning/pump-rate', runs([rate]))).json().verdict).toBe('repeat')
    expect((await ask('POST', '/api/commissioning/pump-rate', runs([rate, rate * 1.4]))).json().verdict).toBe('look')
  })

  it('draws a line through two buffers and judges slope and zero', async () => {
    const points = (four: number, seven: number) => ({
      ...{ probe: 'ph-1', kind: 'ph' },
      points: [
        { reference: 4.01, shown: four },
        { reference: 7, shown: seven },
      ],
    })
    const ideal = (await ask('POST', '/api/commissioning/probe', points(4.01, 7))).json()
    asPromised(ROUTES.commissioning.probe, 200, ideal)
    expect(ideal).toMatchObject({ slope: expect.closeTo(1, 9), offset: expect.closeTo(0, 9), verdict: 'good' })
    expect((await ask('POST', '/api/commissioning/probe', points(4.3, 7))).json().verdict).toBe('ageing')
    expect((await ask('POST', '/api/commissioning/probe', points(6, 7))).json().verdict).toBe('unfit')
    expect((await ask('POST', '/api/commissioning/probe', points(7, 7))).statusCode).toBe(422)
  })
})

describe('the desk', () => {
  it('answers as the command line does, and never opens a file that is named from outside', async () => {
    const recipe = (await ask('POST', '/api/desk/recipe', { volume: '220L', water: 'reverse-osmosis' })).json()
    expect(recipe).toMatchObject({ schema: 'tarnward/recipe/1', volumeL: 220 })
    const pinned = { volume: '220L', pin: ['potassium nitrate=0.3 g/L'] }
    const again = (await ask('POST', '/api/desk/recipe', pinned)).json()
    expect(again.salts.find(({ name }: { name: string }) => name === 'potassium nitrate').gPerL).toBeCloseTo(0.3, 6)
    expect((await ask('POST', '/api/desk/stocks', { volume: '220L' })).json().schema).toBe('tarnward/stocks/1')
    const path = await ask('POST', '/api/desk/water', { water: '../../package.json' })
    expect([path.statusCode, path.json().detail]).toEqual([422, expect.stringMatching(/^No water is called/)])
  })

  it('amends from a report given as text', async () => {
    const text = readFileSync(new URL('../../fixtures/desk/used-potassium-starved.csv', import.meta.url), 'utf8')
    const body = { laboratory: { fileName: 'used.csv', text }, volume: '220L' }
    expect((await ask('POST', '/api/desk/amend', body)).json()).toMatchObject({ kind: 'amendment', volumeL: 220 })
  })
})

describe('what a person measured', () => {
  it('by hand is taken with its unit and listed; what nobody tracks is refused', async () => {
    const taken = await ask('POST', '/api/spot-reading', { by: 'Ines', quantity: 'K', value: 200, sd: 10 })
    expect([taken.statusCode, taken.json()]).toEqual([200, { taken: true }])
    expect((await ask('GET', '/api/laboratory')).json().spots).toMatchObject([
      { quantity: 'K', value: 200, unit: 'mg/L' },
    ])
    const strange = await ask('POST', '/api/spot-reading', { quantity: 'gold', value: 1 })
    expect([strange.statusCode, strange.json().detail]).toEqual([
      422,
      expect.stringContaining('nothing that is tracked'),
    ])
  })

  it('is refused as a decision on a report that is not held', async () => {
    const answer = await ask('POST', '/api/laboratory/nothing/decision', { reason: 'seen', decision: 'accept' })
    expect([answer.statusCode, answer.json().detail]).toEqual([
      422,
      expect.stringContaining('no report of this id is held'),
    ])
  })
})
