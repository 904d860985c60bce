import { once } from 'node:events'
import { writeFileSync } from 'node:fs'
import { get, type IncomingMessage } from 'node:http'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { pathToFileURL } from 'node:url'
import { afterEach, describe, expect, it } from 'vitest'
import { openAccessStore } from '../../../src/ledger/access-store.ts'
import type { Instruction } from '../../../src/reservoir/input.ts'
import { createAccess } from '../../../src/shell/api/access/access.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import type {
  DaemonView,
  EstimateView,
  EventView,
  LaboratoryUpload,
  PersonsInput,
  StatusView,
} from '../../../src/shell/daemon-view.ts'
import { createHttp, startHttp } from '../../../src/shell/http.ts'
import { scratchFolder } from '../ledger/scratch.ts'

const AT_MS = 1_770_000_000_000

const STATUS: StatusView = {
  version: '0.1.0',
  reservoir: 'quarry-lane',
  atMs: AT_MS,
  mode: 'automatic',
  held: false,
  sentence: 'All six are in band; 9.5 mL potassium nitrate at 14:30.',
  readings: [
    { quantity: 'conductivity', value: 1.71, unit: 'mS/cm', atMs: AT_MS },
    { quantity: 'ph', unit: '', abnormal: 'no scan for 3 min' },
  ],
  nextDoses: [{ stock: 'nitrate', volumeMl: 9.5, reason: 'potassium is about 172 ± 14 mg/L, aim 200' }],
  notes: [],
  alarms: [
    {
      ...{ alarm: 'probe-silent:ph-1', state: 'unacknowledged', priority: 'high', text: 'The pH probe is silent.' },
      ...{ cause: 'A probe is silent', consequence: 'Doses wait.', action: 'Look at it.', respondWithin: 'today' },
      consequences: [],
    },
  ],
  trips: [],
  nodes: [{ node: 'bench', online: true }],
  head: { sequence: 42, hash: 'ab' },
}

const ESTIMATE: EstimateView = {
  atMs: AT_MS,
  volumeL: 214,
  alkalinityMeqPerL: 0.8,
  elements: { K: { mgPerL: 172, sdMgPerL: 14, band: { lowMgPerL: 150, aimMgPerL: 200, highMgPerL: 240 } } },
}

const eventAt = (sequence: number): EventView => ({
  sequence,
  atMs: AT_MS + sequence,
  kind: 'event',
  text: `event ${sequence}`,
})

function bench(changes: Partial<DaemonView> = {}) {
  const uploads: LaboratoryUpload[] = []
  const holds: string[] = []
  const instructions: Instruction[] = []
  const inputs: PersonsInput[] = []
  const listeners = new Set<(event: EventView) => void>()
  const events = [1, 2, 3].map(eventAt)
  const view: DaemonView = {
    status: () => STATUS,
    estimate: () => ESTIMATE,
    recentEvents: (limit, after = 0) => events.filter((event) => event.sequence > after).slice(-limit),
    subscribe: (listener) => {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
    counters: () => ({
      doses: [
        { pump: 'pump-1', outcome: 'done', count: 3, volumeUl: 28_500 },
        { pump: 'pump-1', outcome: 'stopped', count: 1, volumeUl: 1500 },
      ],
      trips: [{ interlock: 'effectSeen', count: 1 }],
      probes: [{ probe: 'ec-1', lastAtMs: AT_MS }],
      ledgerFreeBytes: 1_000_000,
    }),
    alive: () => true,
    readiness: () => [{ name: 'ledger', ok: true, text: 'writable' }],
    addLaboratory: async (upload) => {
      uploads.push(upload)
      return { kind: 'accepted', id: 'lab-1', text: 'Taken.' }
    },
    instruct: async (by, reason, instruction) => {
      holds.push(`${by}: ${reason}`)
      instructions.push(instruction)
      return { kind: 'taken' }
    },
    runPump: async () => ({ kind: 'refused', why: 'no pump here' }),
    tell: async (input) => {
      inputs.push(input)
      return { kind: 'taken' }
    },
    ...changes,
  }
  return { view, uploads, holds, instructions, inputs, listeners }
}

const closing: (() => Promise<unknown>)[] = []
afterEach(async () => {
  for (const close of closing.splice(0)) await close()
})

const LOCAL_KEY = 'key-of-this-process'
const store = await openAccessStore(join(scratchFolder(), 'access.db'))

function serving(changes: Partial<DaemonView> = {}, page: { readonly pageFolder?: URL } = {}) {
  const parts = bench(changes)
  const access = createAccess({ store, nowMs: () => AT_MS, localKey: LOCAL_KEY })
  const server = createHttp({ view: parts.view, access, port: 0, ...page })
  closing.push(() => server.close())
  let count = 0
  const ask = (method: 'GET' | 'POST', url: string, payload?: object, headers: Record<string, string> = {}) =>
    server.inject({
      ...{ method, url },
      headers: {
        ...{ host: '127.0.0.1:8080', authorization: `Bearer ${LOCAL_KEY}` },
        'idempotency-key': `key-${crypto.randomUUID()}-${count++}`,
        ...headers,
      },
      ...(payload ? { payload } : {}),
    })
  return { ...parts, server, access, ask }
}

const UPLOAD = { fileName: 'report.csv', text: 'K;172', sampledAt: '2026-03-02T08:00:00+01:00', by: 'grower' }

describe('the API', () => {
  it('shows status with the last events, and the estimate', async () => {
    const { ask } = serving()
    expect((await ask('GET', '/api/status')).json()).toEqual({ ...STATUS, events: [1, 2, 3].map(eventAt) })
    expect((await ask('GET', '/api/estimate')).json()).toEqual(ESTIMATE)
  })

  it('says in problem details why there is no estimate yet', async () => {
    const answer = await serving({ estimate: () => undefined }).ask('GET', '/api/estimate')
    expect(answer.statusCode).toBe(503)
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/)
    expect(answer.json()).toMatchObject({
      status: 503,
      title: 'Service Unavailable',
      detail: expect.stringContaining('first fused readings'),
    })
  })

  it('takes a laboratory report with the time of sampling, and says what became of it', async () => {
    const { ask, uploads } = serving()
    const answer = await ask('POST', '/api/laboratory', UPLOAD)
    expect([answer.statusCode, answer.json()]).toEqual([201, { kind: 'accepted', id: 'lab-1', text: 'Taken.' }])
    const { sampledAt: _sampledAt, ...rest } = UPLOAD
    expect(uploads).toEqual([{ ...rest, sampledAtMs: Date.UTC(2026, 2, 2, 7), isAccepted: false }])
    const held = serving({ addLaboratory: async () => ({ kind: 'held', id: 'lab-2', why: ['charge'] }) })
    expect((await held.ask('POST', '/api/laboratory', UPLOAD)).statusCode).toBe(202)
    const refusing = serving({ addLaboratory: async () => ({ kind: 'refused', why: ['line 3: no unit'] }) })
    const refused = await refusing.ask('POST', '/api/laboratory', UPLOAD)
    expect([refused.statusCode, refused.json().errors]).toEqual([422, ['line 3: no unit']])
  })

  it('refuses an upload that is incomplete, mistyped or too large', async () => {
    const { ask, uploads } = serving()
    const wrong = await ask('POST', '/api/laboratory', {
      fileName: 'a.csv',
      text: 'x',
      sampledAt: 'yesterday',
      color: 1,
    })
    expect(wrong.statusCode).toBe(400)
    expect(wrong.json().errors).toEqual([expect.stringMatching(/^sampledAt: /), expect.stringMatching(/color/)])
    const large = await ask('POST', '/api/laboratory', { ...UPLOAD, text: 'x'.repeat(1024 * 1024) })
    expect([large.statusCode, large.headers['content-type']]).toEqual([413, expect.stringMatching(/problem\+json/)])
    expect(uploads).toEqual([])
  })

  it('holds for whoever asks, with or without a reason', async () => {
    const { ask, holds } = serving()
    expect((await ask('POST', '/api/hold')).json()).toEqual({ held: true })
    await ask('POST', '/api/hold', { by: 'technician', reason: 'smell of acid' })
    expect(holds).toEqual(['command line: held by a person', 'technician: smell of acid'])
  })
})

describe('instructions of people', () => {
  const word = (instruction: object) => ({ by: 'Ines', reason: 'looked at it', instruction })

  it('release, reset and acknowledge, with a name and a reason', async () => {
    const { ask, instructions } = serving()
    const words = [
      { instruction: 'release' },
      { instruction: 'reset', trip: 'pump-overran' },
      { instruction: 'acknowledge', alarm: 'no-flow' },
    ]
    for (const instruction of words)
      expect((await ask('POST', '/api/instruction', word(instruction))).json()).toEqual({ taken: true })
    expect(instructions).toEqual(words)
  })

  it('without a reason, or about what nobody knows, are not taken', async () => {
    const { ask, instructions } = serving()
    const bodies = [
      { by: 'Ines', instruction: { instruction: 'release' } },
      word({ instruction: 'mode', mode: 'hurry' }),
      word({ instruction: 'pump-rate', stock: 'acid', rateMlPerMin: -20 }),
    ]
    for (const body of bodies) expect((await ask('POST', '/api/instruction', body)).statusCode).toBe(400)
    expect(instructions).toEqual([])
  })

  it.each([
    ['refused', 422],
    ['not-kept', 503],
  ] as const)('that are %s are never said to be in force', async (kind, status) => {
    const { ask } = serving({ instruct: async () => ({ kind, why: 'the ledger cannot be written' }) })
    for (const [path, body] of [
      ['/api/hold', undefined],
      ['/api/instruction', word({ instruction: 'release' })],
    ] as const) {
      const answer = await ask('POST', path, body)
      expect(answer.statusCode).toBe(status)
      expect(answer.json().detail).toMatch(/is not in force: the ledger cannot be written\.$/)
    }
  })
})

describe('strangers', () => {
  it.each([
    ['a page of another site', { origin: 'https://elsewhere.example' }],
    ['a page without an origin of its own', { origin: 'null' }],
    ['a form on another site', { 'sec-fetch-site': 'cross-site' }],
    ['the same machine on another port', { origin: 'http://127.0.0.1:9999' }],
  ])('%s can post nothing', async (_who, headers) => {
    const { ask, holds } = serving()
    expect((await ask('POST', '/api/hold', {}, headers)).statusCode).toBe(403)
    expect(holds).toEqual([])
  })

  it('the daemon’s own page can post', async () => {
    const { ask } = serving()
    const own = { origin: 'http://127.0.0.1:8080', 'sec-fetch-site': 'same-origin' }
    expect((await ask('POST', '/api/hold', {}, own)).statusCode).toBe(200)
  })

  it('a name of somebody else that points here is not answered to', async () => {
    const { ask } = serving()
    expect((await ask('GET', '/api/status', undefined, { host: 'rebound.example' })).statusCode).toBe(421)
    expect((await ask('GET', '/api/status', undefined, { host: '[::1]:8080' })).statusCode).toBe(200)
  })

  it('get no file but the page’s own, and a policy that lets nothing foreign run', async () => {
    const folder = scratchFolder()
    const html = '<script type="module" src="page-A1B2C3D4.js"></script>'
    writeFileSync(join(folder, 'index.html'), html)
    for (const name of ['page-A1B2C3D4.js', 'page-A1B2C3D4.js.br', 'notes.bak']) writeFileSync(join(folder, name), name)
    const { ask } = serving({}, { pageFolder: pathToFileURL(`${folder}/`) })
    const page = await ask('GET', '/')
    expect([page.statusCode, page.headers['content-type']]).toEqual([200, 'text/html; charset=utf-8'])
    expect(page.headers['content-security-policy']).toMatch(/default-src 'none'; script-src 'self'/)
    expect(page.body).toBe(html)
    const script = await ask('GET', '/page-A1B2C3D4.js', undefined, { 'accept-encoding': 'gzip, br' })
    expect([script.body, script.headers['content-encoding']]).toEqual(['page-A1B2C3D4.js.br', 'br'])
    expect(script.headers['cache-control']).toBe('public, max-age=31536000, immutable')
    for (const url of ['/../http.ts', '/%2e%2e/shell/http.ts', '/notes.bak', '/page-A1B2C3D4.js.br']) {
      const answer = await ask('GET', url)
      expect([answer.statusCode, answer.json().status]).toEqual([404, 404])
    }
  })
})

describe('health', () => {
  it('tells a living daemon from a ready one', async () => {
    const { ask } = serving({ readiness: () => [{ name: 'clock', ok: false, text: '3 h behind the ledger' }] })
    expect((await ask('GET', '/healthz')).statusCode).toBe(200)
    const ready = await ask('GET', '/readyz')
    expect([ready.statusCode, ready.json()]).toEqual([
      503,
      { ready: false, checks: [{ name: 'clock', ok: false, text: '3 h behind the ledger' }] },
    ])
    expect((await serving({ alive: () => false }).ask('GET', '/healthz')).statusCode).toBe(503)
    expect((await serving().ask('GET', '/readyz')).statusCode).toBe(200)
  })

  it('gives figures in base units, each with its reservoir, the same at every scrape', async () => {
    const { ask } = serving()
    await ask('GET', '/metrics')
    const lines = (await ask('GET', '/metrics')).body.split('\n').filter((line) => line.startsWith('tarnward_'))
    expect(lines).toEqual(
      expect.arrayContaining([
        'tarnward_ec_siemens_per_meter{reservoir="quarry-lane"} 0.171',
        'tarnward_ion_concentration_grams_per_liter{ion="K",reservoir="quarry-lane"} 0.172',
        'tarnward_ion_stddev_grams_per_liter{ion="K",reservoir="quarry-lane"} 0.014',
        'tarnward_doses_total{pump="pump-1",outcome="done",reservoir="quarry-lane"} 3',
        'tarnward_dose_volume_liters_total{pump="pump-1",reservoir="quarry-lane"} 0.03',
        'tarnward_alarm_active{alarm="probe-silent:ph-1",priority="high",reservoir="quarry-lane"} 1',
        'tarnward_build_info{version="0.1.0",reservoir="quarry-lane"} 1',
      ]),
    )
    expect(lines.some((line) => line.startsWith('tarnward_ph{'))).toBe(false)
  })
})

describe('the event stream', () => {
  async function open(url: string, headers: Record<string, string> = {}) {
    const request = get(url, { headers })
    const [response] = (await once(request, 'response')) as [IncomingMessage]
    const heard = { text: '', ended: false }
    response.on('data', (chunk: Buffer) => {
      heard.text += chunk.toString()
    })
    response.on('close', () => {
      heard.ended = true
    })
    return { response, heard, request }
  }

  async function streaming() {
    const clock = createLockstepClock(AT_MS)
    const parts = bench()
    const server = await startHttp({ view: parts.view, port: 0, clock })
    closing.push(() => server.close())
    return { ...parts, clock, server, url: `${server.url}/api/events` }
  }

  const soon = async (holds: () => boolean) => {
    for (let tries = 0; tries < 300 && !holds(); tries++) await wait(10)
  }

  it('goes on after the last event its reader has, keeps the line alive, and ends when the daemon does', async () => {
    const { url, listeners, clock, server } = await streaming()
    const { response, heard } = await open(url, { 'last-event-id': '2' })
    expect(response.headers['content-type']).toBe('text/event-stream')
    expect(response.headers['content-security-policy']).toContain("default-src 'none'")
    for (const listener of listeners) listener(eventAt(4))
    clock.advance(15_000)
    await soon(() => heard.text.includes('still here'))
    const ids = [...heard.text.matchAll(/^id: (\d+)$/gm)].map((match) => Number(match[1]))
    expect(ids).toEqual([3, 4])
    await server.close()
    await soon(() => heard.ended)
    expect(heard.ended).toBe(true)
    await soon(() => listeners.size === 0)
    expect(listeners.size).toBe(0)
    expect(clock.nextTimerInMs()).toBeUndefined()
  })

  it('lets a reader go without a trace, and refuses the seventeenth', async () => {
    const { url, listeners } = await streaming()
    const readers = []
    for (let n = 0; n < 16; n++) readers.push(await open(url))
    expect((await open(url)).response.statusCode).toBe(503)
    readers[0]!.request.destroy()
    await soon(() => listeners.size === 15)
    expect(listeners.size).toBe(15)
    expect((await open(url)).response.statusCode).toBe(200)
  })
})
