import { join } from 'node:path'
import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { createHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'
import { type ApiSite, apiSite } from './api-site.ts'

let site: ApiSite
let server: FastifyInstance
let technician: string
let grower: string
let close: () => Promise<void>

beforeAll(async () => {
  site = await apiSite(2)
  const store = await openAccessStore(join(scratchFolder(), 'access.db'))
  const access = createAccess({ store, nowMs: () => site.clock.wallMs() })
  technician = (await access.create({ name: 'Ines', role: 'technician' })).secret
  grower = (await access.create({ name: 'Jon', role: 'grower' })).secret
  server = createHttp({ view: site.view, site: site.site, access, port: 0, clock: site.clock })
  close = async () => {
    await server.close()
    await site.stop()
    store.close()
  }
})
afterAll(() => close())

const RUN = { reason: 'measure it', stock: 'nitrate', runMs: 20_000, withWater: true }

function run(body: object = {}, secret = technician, key: string = crypto.randomUUID()) {
  return server.inject({
    ...{ method: 'POST', url: '/api/commissioning/pump-run' },
    headers: { host: 'localhost', authorization: `Bearer ${secret}`, 'idempotency-key': key },
    payload: { ...RUN, ...body },
  })
}

const shotOf = async (commandId: string) => {
  const answer = await server.inject({ url: '/api/doses?limit=50', headers: { host: 'localhost' } })
  return answer.json().shots.find((shot: { commandId: string }) => shot.commandId === commandId)
}
const mode = (name: 'observe' | 'automatic') =>
  site.view.instruct('Ines', 'calibration day', { instruction: 'mode', mode: name })
const belief = () => site.site.state().core!.history.filter

describe('a pump run from the page', () => {
  it('is refused while the daemon may dose, with the sentence of the interlock', async () => {
    const answer = await run()
    expect(answer.statusCode).toBe(422)
    expect(answer.json().detail).toMatch(/The pump does not run: .*lower it to observe first/)
    await mode('observe')
    await site.live(5)
  })

  it('is a technician’s: a grower is refused', async () => {
    expect((await run({}, grower)).statusCode).toBe(403)
  })

  it('runs, and its command stands in the records with what the node made of it', async () => {
    const answer = await run()
    expect(answer.statusCode).toBe(202)
    const { commandId, runMs, expectedMl } = answer.json()
    expect(runMs).toBeLessThanOrEqual(20_000)
    expect(runMs).toBeGreaterThan(19_990)
    await site.live(2)
    expect(await shotOf(commandId)).toMatchObject({ outcome: 'done', planId: 'calibration', purpose: 'calibration' })
    const delivered = (await shotOf(commandId)).deliveredHighMl
    expect(Math.abs(delivered - expectedMl)).toBeLessThan(0.1)
    expect(site.site.state().safety.nodes['bench']?.lease.allowed).toBe(false)
  })

  it('is asked once under one key, however often it is sent', async () => {
    await site.live(5)
    const key = crypto.randomUUID()
    const first = await run({ runMs: 5000 }, technician, key)
    const again = await run({ runMs: 5000 }, technician, key)
    expect(again.json()).toMatchObject({ commandId: first.json().commandId, repeated: true })
    await site.live(2)
  })

  it('that the node stops on the way says why, in the node’s own words', async () => {
    await site.live(5)
    const { commandId } = (await run({ runMs: 10_000 })).json()
    await site.view.instruct('Ines', 'the glass is full', { instruction: 'hold' })
    await site.live(2)
    expect(await shotOf(commandId)).toMatchObject({ outcome: 'stopped', nodeSaid: 'the lease was withdrawn' })
    await site.view.instruct('Ines', 'emptied', { instruction: 'release' })
    await site.live(2)
  })

  it('is in the book in full, and not in the estimate: it went into a glass', async () => {
    const before = site.site.state()
    const nitrateBefore = [...belief().mean]
    const { commandId } = (await run({ runMs: 10_000 })).json()
    await site.live(1)
    const rows = site.site.state().safety.book.stocks['nitrate']?.rows ?? []
    expect(rows.find((row) => row.commandId === commandId)?.highUl).toBeGreaterThan(4000)
    expect(site.site.state().core!.shots).toEqual(before.core!.shots)
    expect([...belief().mean]).toEqual(nitrateBefore)
    expect(site.site.state().core!.open.doses).toEqual([])
  })

  it('with acid is refused, with water it runs', async () => {
    await site.live(2)
    expect((await run({ stock: 'acid', runMs: 5000, withWater: false })).json().detail).toContain('plain water only')
    expect((await run({ stock: 'acid', runMs: 5000 })).statusCode).toBe(202)
    await site.live(2)
  })

  it('beyond its cap or under a hold is refused in words', async () => {
    expect((await run({ runMs: 120_000 })).json().detail).toMatch(/one run for a person may give at most 30 mL/)
    await site.view.instruct('Ines', 'a leak', { instruction: 'hold' })
    expect((await run({ runMs: 2000 })).json().detail).toContain('dosing is held by Ines')
    await site.view.instruct('Ines', 'mended', { instruction: 'release' })
  })

  it('is seen in the checklist as a pump that was tried, and what is left of the day’s cap', async () => {
    const answer = await server.inject({ url: '/api/commissioning', headers: { host: 'localhost' } })
    const { pumps, checklist } = answer.json()
    const nitrate = pumps.find((pump: { stock: string }) => pump.stock === 'nitrate')
    expect(nitrate.triedAtMs).toBeGreaterThan(0)
    expect(nitrate.runs.dayLeftMl).toBeLessThan(nitrate.runs.dayMaxMl)
    expect(checklist.find(({ check }: { check: string }) => check === 'dry-run')).toMatchObject({
      ok: false,
      next: expect.stringMatching(/calcium, phosphate$/),
    })
  })
})
