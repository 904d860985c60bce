import { join } from 'node:path'
import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { type Limit, limits, limitsPreview } from '../../../src/shell/api/schema/limits.ts'
import { createHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'
import { type ApiSite, apiSite } from './api-site.ts'

const KEY = 'key-of-this-process'
const NITRATE = 'stocks.nitrate.shotMaxMl'
let site: ApiSite
let server: FastifyInstance
let stop: () => Promise<void>

/** A bench of 30 hours in the mode automatic. */
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
}, 120_000)
afterAll(() => stop())

let asked = 0
async function ask(method: 'GET' | 'POST', url: string, body?: object, headers: Record<string, string> = {}) {
  return server.inject({
    ...{ method, url, remoteAddress: `127.3.${asked >> 8}.${asked++ & 255}` },
    headers: { host: 'localhost', authorization: `Bearer ${KEY}`, 'idempotency-key': crypto.randomUUID(), ...headers },
    ...(body ? { payload: body } : {}),
  })
}

async function limit(path: string): Promise<Limit> {
  const { limits: all } = limits.parse((await ask('GET', '/api/limits')).json())
  return all.find((one) => one.path === path)!
}

const change = (value: number, was?: number, path = NITRATE) =>
  ask('POST', '/api/limits', {
    limit: path,
    value,
    reason: 'new tubes',
    by: 'Ines',
    ...(was === undefined ? {} : { was }),
  })

describe('other limits tried on recorded weeks', () => {
  const preview = async (...changes: { limit: string; value: number }[]) => {
    const answer = await ask('POST', '/api/limits/preview', { changes })
    return { status: answer.statusCode, json: answer.json() }
  }

  it('leave every verdict as it is recorded where nothing is changed', async () => {
    const { value } = await limit(NITRATE)
    const { gate } = limitsPreview.parse((await preview({ limit: NITRATE, value })).json)
    expect(gate.judged).toBeGreaterThan(10)
    expect(gate).toMatchObject({ changedVerdicts: [], text: `All ${gate.judged} verdicts would have been the same.` })
  })

  it('say which shots the gate would have refused, and by which rule', async () => {
    const { gate } = limitsPreview.parse((await preview({ limit: 'probes.conductivityMaxDsPerM', value: 1 })).json)
    expect(gate).toMatchObject({ permitted: 0, refused: gate.judged })
    expect(gate.changedVerdicts.length).toBeGreaterThan(0)
    for (const { was, wouldBe, why } of gate.changedVerdicts) {
      expect({ was, wouldBe }).toEqual({ was: 'permit', wouldBe: 'refuse' })
      expect(why).toContain('Every required probe reads inside its range.')
    }
    expect(gate.text).toContain('would have been refused')
  })

  it('are refused where nobody could put them in force', async () => {
    expect(await preview({ limit: NITRATE, value: 41 })).toMatchObject({ status: 422 })
    expect((await preview({ limit: 'stocks.nitrate.hourMaxMl', value: 30 })).json.errors[0]).toContain('hourMaxMl')
  })
})

describe('a limit', () => {
  it('tells its meaning, its unit, and how far it may be moved', async () => {
    expect(await limit(NITRATE)).toEqual({
      ...{ path: NITRATE, group: 'stock nitrate', meaning: 'largest single run of the pump', unit: 'mL' },
      ...{ value: 40, fileValue: 40, ceiling: 40, min: 0, max: 5000, isChangeable: true },
    })
    expect(await limit('elements.K.dayMaxMgPerL')).toMatchObject({
      meaning: expect.stringMatching(/^K, potassium: most/),
    })
    expect(await limit('stocks.calcium.apart.phosphate.min')).toMatchObject({
      meaning: 'phosphate: least time between a shot of the one and a shot of the other',
    })
    expect(await limit('acid.phFloor')).toMatchObject({ floor: 5.4, unit: '' })
    expect(await limit('acid.strengthMeqPerMl')).toMatchObject({ isChangeable: false, unit: 'meq/mL' })
  })

  it('changed by two people at once takes the first and tells the second, in words', async () => {
    const [first, second] = await Promise.all([change(30, 40), change(20, 40)])
    expect([first.statusCode, second.statusCode]).toEqual([200, 409])
    expect(second.json().detail).toContain(`${NITRATE} was 40 when you looked and is 30 now; Ines`)
    expect(await limit(NITRATE)).toMatchObject({ value: 30, fileValue: 40, changed: { from: 40, reason: 'new tubes' } })
  })

  it('is refused beyond its ceiling, and where the file itself would be refused', async () => {
    const beyond = await change(41)
    expect([beyond.statusCode, beyond.json().detail]).toEqual([422, expect.stringContaining('at most 40')])
    const crossed = await change(29, undefined, 'stocks.nitrate.hourMaxMl')
    expect([crossed.statusCode, crossed.json().detail]).toEqual([
      422,
      expect.stringContaining('at least stocks.nitrate.shotMaxMl'),
    ])
    expect((await change(-1)).statusCode).toBe(422)
  })

  it('is changed by a technician alone', async () => {
    const { statusCode } = await ask(
      'POST',
      '/api/limits',
      { limit: NITRATE, value: 5, reason: 'why not' },
      { authorization: '' },
    )
    expect(statusCode).toBe(401)
  })
})
