import { once } from 'node:events'
import { readdirSync, readFileSync, statSync } from 'node:fs'
import { get, type IncomingMessage } from 'node:http'
import { join } from 'node:path'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { type AccessStore, openAccessStore } from '../../../src/ledger/access-store.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { createLocalKey, readLocalKey } from '../../../src/shell/api/access/local-key.ts'
import { createRate } from '../../../src/shell/api/access/rate.ts'
import { startHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'
import { apiSite } from './api-site.ts'

const closing: (() => unknown)[] = []
afterEach(async () => {
  vi.unstubAllEnvs()
  for (const close of closing.splice(0)) await close()
})

async function storeAt(path = join(scratchFolder(), 'access.db')): Promise<AccessStore & { readonly path: string }> {
  const store = await openAccessStore(path)
  closing.unshift(() => store.close())
  return Object.assign(store, { path })
}

describe('a token', () => {
  it('is kept only as its hash: neither the secret nor a part of it stands in any file', async () => {
    const folder = scratchFolder()
    const store = await storeAt(join(folder, 'access.db'))
    const { secret } = await createAccess({ store, nowMs: Date.now }).create({ name: 'Ines', role: 'grower' })
    expect(Buffer.from(secret, 'base64url')).toHaveLength(32)
    const bytes = readdirSync(folder).map((file) => readFileSync(join(folder, file)))
    expect(bytes.some((file) => file.includes('Ines'))).toBe(true)
    for (const part of [secret, secret.slice(0, 12), Buffer.from(secret, 'base64url')])
      expect(bytes.some((file) => file.includes(part))).toBe(false)
  })

  it('opens what its role allows until it expires or is revoked', async () => {
    let nowMs = 1_770_000_000_000
    const access = createAccess({ store: await storeAt(), nowMs: () => nowMs })
    const day = await access.create({ name: 'Ines', role: 'grower', expiresInDays: 1 })
    const lasting = await access.create({ name: 'Tomas', role: 'technician' })
    expect(access.callerOf(day.secret)).toMatchObject({ role: 'grower', name: 'Ines' })
    expect(access.callerOf(`${day.secret}x`)).toBeUndefined()
    nowMs += 86_400_000
    expect(access.callerOf(day.secret)).toBeUndefined()
    expect(access.callerOf(lasting.secret)).toMatchObject({ role: 'technician' })
    expect(await access.revoke(lasting.token.id)).toBe(true)
    expect(access.callerOf(lasting.secret)).toBeUndefined()
    expect(await access.revoke(lasting.token.id)).toBe(false)
  })
})

describe('an idempotency key', () => {
  const request = (hash = 1) => ({ who: 'Ines', key: 'topped-up-1', hash: Buffer.alloc(32, hash), atMs: 1 })

  it('outlives a restart: an act that was answered is answered the same, one that was not is never done again', async () => {
    const path = join(scratchFolder(), 'access.db')
    const before = await openAccessStore(path)
    expect(before.ask(request())).toEqual({ kind: 'new' })
    before.close()
    const died = await openAccessStore(path)
    expect(died.ask(request())).toEqual({ kind: 'open' })
    died.answer('Ines', 'topped-up-1', 200, '{"taken":true}')
    died.close()
    const again = await storeAt(path)
    expect(again.ask(request())).toEqual({ kind: 'answered', status: 200, json: '{"taken":true}' })
    expect(again.ask(request(2))).toEqual({ kind: 'other-request' })
    expect(again.ask({ ...request(2), who: 'Tomas' })).toEqual({ kind: 'new' })
  })
})

describe('the key of a process', () => {
  it('can be read by its own user only, and goes with the process', () => {
    const folder = scratchFolder()
    vi.stubEnv('XDG_RUNTIME_DIR', folder)
    const key = createLocalKey()
    key.publish(8420)
    expect(readLocalKey(8420)).toBe(key.secret)
    expect(statSync(join(folder, 'tarnward', '8420.key')).mode & 0o077).toBe(0)
    key.remove()
    expect(readLocalKey(8420)).toBeUndefined()
  })
})

describe('the limit on requests', () => {
  it('lets a burst pass, then as many as the pace, each address by itself', () => {
    let nowMs = 0
    const rate = createRate({ burst: 3, perSecond: 2, monoMs: () => nowMs })
    const taken = (address: string, times: number) => Array.from({ length: times }, () => rate.take(address))
    expect(taken('a', 5)).toEqual([true, true, true, false, false])
    expect(taken('b', 1)).toEqual([true])
    nowMs += 1000
    expect(taken('a', 3)).toEqual([true, true, false])
  })
})

describe('a listening server', () => {
  it('tells of a scan within 200 ms, signs a browser in by a cookie that scripts cannot read, and stops for anybody near', async () => {
    const site = await apiSite(1)
    const store = await storeAt()
    const access = createAccess({ store, nowMs: Date.now })
    const http = await startHttp({ view: site.view, site: site.site, access, port: 0 })
    closing.unshift(
      () => site.stop(),
      () => http.close(),
    )
    const { secret } = await access.create({ name: 'Ines', role: 'grower' })
    const session = await fetch(`${http.url}/api/session`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ token: secret }),
    })
    expect(session.headers.get('set-cookie')).toMatch(/HttpOnly; SameSite=Strict/)
    const cookie = session.headers.get('set-cookie')!.split(';')[0]!
    const me = await fetch(`${http.url}/api/me`, { headers: { cookie } })
    expect(await me.json()).toEqual({ role: 'grower', name: 'Ines' })

    const request = get(`${http.url}/api/events`, { headers: { cookie } })
    const [stream] = (await once(request, 'response')) as [IncomingMessage]
    await once(stream, 'data')
    const heard = once(stream, 'data')
    const scannedAtMs = performance.now()
    await site.live(1)
    const [chunk] = (await heard) as [Buffer]
    expect(performance.now() - scannedAtMs).toBeLessThan(200)
    expect(chunk.toString()).toContain('new readings')
    request.destroy()

    const held = await fetch(`${http.url}/api/hold`, { method: 'POST' })
    expect(await held.json()).toEqual({ held: true })
    expect(site.view.status().held).toBe(true)
    const now = (await (await fetch(`${http.url}/api/now`)).json()) as { hold: { by: string } }
    expect(now.hold.by).toBe('somebody (not signed in)')
  })
})
