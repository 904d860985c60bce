import { createServer, type Server, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it, vi } from 'vitest'
import type { Notice } from '../../../src/core/alarm/escalation.ts'
import { createRealClock } from '../../../src/shell/clock.ts'
import { createLog } from '../../../src/shell/log.ts'
import { noticeSchema } from '../../../src/shell/notice-message.ts'
import { createNotifier, type Notifier, signature } from '../../../src/shell/notify.ts'

const SECRET = 'only these two know it'
const PATH = '/hook/token-in-the-path'

interface Heard {
  readonly id: string | undefined
  readonly signature: string | undefined
  readonly body: string
}

let server: Server
let notifier: Notifier
let heard: Heard[]
let answer: (response: ServerResponse) => void
let lines: string[]

async function begin(): Promise<string> {
  heard = []
  lines = []
  answer = (response) => response.writeHead(204).end()
  server = createServer((request, response) => {
    let body = ''
    request.on('data', (part: Buffer) => {
      body += part.toString()
    })
    request.on('end', () => {
      const { 'idempotency-key': id, 'tarnward-signature': signed } = request.headers
      heard.push({ id: id as string, signature: signed as string, body })
      answer(response)
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}${PATH}`
}

function notifierTo(webhook: string): Notifier {
  const log = createLog({ pretty: false })
  vi.spyOn(log, 'warn').mockImplementation((...said: unknown[]) => void lines.push(JSON.stringify(said)))
  const pace = { retryFirstMs: 20, retryMostMs: 60, timeoutMs: 150 }
  notifier = createNotifier({
    ...{ site: 'quarry-lane', clock: createRealClock(), log, ...pace },
    people: [
      { name: 'Ines', webhook, secret: SECRET },
      { name: 'Tomas', webhook: 'http://127.0.0.1:9/nobody' },
    ],
  })
  return notifier
}

afterEach(async () => {
  await notifier.stop()
  server.closeAllConnections()
  server.close()
})

function notice(step: number, to = ['Ines']): Notice {
  return {
    ...{ id: `no-flow@0#${step}`, kind: 'raised', to, alarm: 'no-flow', priority: 'urgent' },
    ...{
      atMs: createRealClock().wallMs(),
      raisedAtMs: 0,
      cause: 'The circulation has stopped',
      consequence: 'Roots wilt.',
    },
    ...{ action: 'Look at the pump.', respondWithin: '1 hour', text: 'The circulation has stopped.', consequences: [] },
  }
}

async function until(isSo: () => boolean): Promise<void> {
  for (let at = 0; at < 500 && !isSo(); at++) await wait(20)
  expect(isSo()).toBe(true)
}

describe('a notice', () => {
  it('is posted once as its schema says, signed, under its own id', async () => {
    notifierTo(await begin()).notify(notice(1))
    await until(() => heard.length > 0)
    const [{ id, signature: signed, body }] = heard as [Heard]
    expect(noticeSchema.parse(JSON.parse(body))).toMatchObject({ site: 'quarry-lane', alarm: 'no-flow', to: ['Ines'] })
    expect(id).toBe('no-flow@0#1')
    expect(signed).toBe(`sha256=${signature(SECRET, body)}`)
  })

  it('is tried again while the server fails, under the same id and in order, until it is taken', async () => {
    const to = notifierTo(await begin())
    answer = (response) => response.writeHead(heard.length < 4 ? 503 : 204).end()
    to.notify(notice(1))
    to.notify(notice(2))
    await until(() => heard.length >= 5)
    expect(heard.map(({ id }) => id)).toEqual([...Array(4).fill('no-flow@0#1'), 'no-flow@0#2'])
  })

  it('to a server that hangs keeps nobody waiting, and is taken when the server comes back', async () => {
    const to = notifierTo(await begin())
    answer = () => {}
    const beganMs = performance.now()
    for (let step = 1; step <= 50; step++) to.notify(notice(step))
    expect(performance.now() - beganMs).toBeLessThan(100)
    await until(() => heard.length >= 2)
    answer = (response) => response.writeHead(204).end()
    await until(() => new Set(heard.map(({ id }) => id)).size === 50)
  })

  it('to somebody whose server is dead does not keep the others from theirs', async () => {
    notifierTo(await begin()).notify(notice(1, ['Tomas', 'Ines']))
    await until(() => heard.length === 1)
  })

  it('waits in a queue that is bounded: the oldest goes, the newest is kept', async () => {
    const to = notifierTo(await begin())
    answer = () => {}
    for (let step = 1; step <= 150; step++) to.notify(notice(step))
    await until(() => heard.length >= 1)
    answer = (response) => response.writeHead(204).end()
    await until(() => heard.at(-1)?.id === 'no-flow@0#150')
    expect(new Set(heard.map(({ id }) => id)).size).toBe(100)
  })

  it('that cannot be told leaves neither secret nor address in the log', async () => {
    const to = notifierTo(await begin())
    answer = (response) => response.writeHead(500).end()
    to.notify(notice(1))
    await until(() => lines.length > 0)
    expect(lines.join()).toContain('no-flow raised was not taken (answer 500)')
    expect(lines.join()).not.toContain(SECRET)
    expect(lines.join()).not.toContain('token-in-the-path')
  })
})
