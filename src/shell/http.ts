import { readFile } from 'node:fs/promises'
import Fastify, { type FastifyInstance, type FastifyReply, type FastifyRequest } from 'fastify'
import { z } from 'zod'
import { type Clock, createRealClock, parseInstant } from './clock.ts'
import type { DaemonView, InstructionAnswer } from './daemon-view.ts'
import { serveEvents } from './event-stream.ts'
import type { Logger } from './log.ts'
import { createMetrics } from './metrics.ts'
import { sendProblem } from './problem.ts'

export interface HttpOptions {
  readonly view: DaemonView
  /** loopback where not given */
  readonly host?: string
  /** 0 takes any free one */
  readonly port: number
  /** names under which the page is reached, where not by a loopback name */
  readonly hostNames?: readonly string[]
  /** folder of the page’s files */
  readonly pageFolder?: URL
  readonly log?: Logger
  readonly clock?: Clock
}

export interface HttpServer {
  readonly url: string
  close(): Promise<void>
}

/** A laboratory’s file is some kilobytes; a megabyte lets a scanned-in oddity be refused in words instead. */
const LABORATORY_MAX_BYTES = 1024 * 1024
const BODY_MAX_BYTES = 16 * 1024
const EVENTS_SHOWN = 50
const LOOPBACK: readonly string[] = ['127.0.0.1', 'localhost', '::1']

/** The page’s files and what each is. Nothing else of the disk can be asked for. */
const PAGE_FILES = {
  '/': ['index.html', 'text/html; charset=utf-8'],
  '/live.js': ['live.js', 'text/javascript; charset=utf-8'],
  '/live.css': ['live.css', 'text/css; charset=utf-8'],
} as const

/** Nothing inline, nothing from elsewhere, no framing: what a laboratory’s file says can never run. */
const SECURITY_HEADERS = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
}

const laboratoryBody = z.strictObject({
  fileName: z.string().min(1).max(200),
  text: z.string().min(1),
  sampledAt: z.iso.datetime({ offset: true }).meta({ description: 'when the bottle was filled' }),
  by: z.string().min(1).max(100).default('page'),
  sample: z.string().min(1).max(200).optional().meta({ description: 'which bottle, where the report holds several' }),
  mapping: z
    .strictObject({ fileName: z.string().min(1).max(200), text: z.string().max(65_536) })
    .optional()
    .meta({ description: 'what this laboratory’s own words mean' }),
  accept: z.boolean().default(false).meta({ description: 'take it in spite of the doubts that held it' }),
})

const holdBody = z
  .strictObject({
    by: z.string().min(1).max(100).default('page'),
    reason: z.string().max(300).default('held by a person'),
  })
  .default({ by: 'page', reason: 'held by a person' })

const instructionBody = z.strictObject({
  by: z.string().min(1).max(100),
  reason: z.string().min(1).max(300).meta({ description: 'kept in the ledger beside it' }),
  instruction: z.discriminatedUnion('instruction', [
    z.strictObject({ instruction: z.literal('release') }),
    z.strictObject({ instruction: z.literal('reset'), trip: z.string().min(1).max(100) }),
    z.strictObject({ instruction: z.literal('acknowledge'), alarm: z.string().min(1).max(100) }),
    z.strictObject({
      instruction: z.literal('shelve'),
      alarm: z.string().min(1).max(100),
      untilMs: z.number().int(),
    }),
    z.strictObject({ instruction: z.literal('unshelve'), alarm: z.string().min(1).max(100) }),
  ]),
})

/**
 * Serves the page and the API.
 * @throws Error where the port is taken
 */
export async function startHttp(options: HttpOptions): Promise<HttpServer> {
  const server = createHttp(options)
  return {
    url: await server.listen({ port: options.port, host: options.host ?? LOOPBACK[0]! }),
    close: () => server.close(),
  }
}

/** The server without a socket, for tests and for `startHttp`. */
export function createHttp(options: HttpOptions): FastifyInstance {
  const { view } = options
  const server = Fastify({ bodyLimit: BODY_MAX_BYTES, forceCloseConnections: true })
  server.removeContentTypeParser('text/plain')
  guard(server, options)
  answerErrors(server, options.log)
  serveHealth(server, view)
  serveApi(server, view)
  serveEvents(server, view, options.clock ?? createRealClock())
  servePage(server, options.pageFolder ?? new URL('../page/', import.meta.url))
  return server
}

/** A page of another site may neither read (by a name that points here) nor post. */
function guard(server: FastifyInstance, options: HttpOptions): void {
  const names = [...LOOPBACK, ...(options.hostNames ?? [])]
  const namesMatter = options.hostNames !== undefined || LOOPBACK.includes(options.host ?? LOOPBACK[0]!)
  server.addHook('onRequest', async (request, reply) => {
    reply.headers({ ...SECURITY_HEADERS, 'cache-control': 'no-store' })
    if (namesMatter && !names.includes(hostNameOf(request.headers.host))) {
      return sendProblem(
        reply,
        421,
        `This server is not called ${request.headers.host}. Add the name to http.hostNames if it should be.`,
      )
    }
    if (request.method !== 'GET' && request.method !== 'HEAD' && isForeign(request)) {
      return sendProblem(reply, 403, 'A page of another site may not do this. Open the daemon’s own page.')
    }
  })
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

function answerErrors(server: FastifyInstance, log: Logger | undefined): void {
  server.setNotFoundHandler((request, reply) =>
    sendProblem(reply, 404, `There is no ${request.method} ${request.url}.`),
  )
  server.setErrorHandler((error: Error & { statusCode?: number }, request, reply) => {
    const status = error.statusCode ?? 500
    if (status < 500) return sendProblem(reply, status, error.message)
    log?.error({ err: error, url: request.url }, 'a request failed')
    return sendProblem(reply, 500, 'The daemon could not answer; its log says why.')
  })
}

function serveHealth(server: FastifyInstance, view: DaemonView): void {
  const metrics = createMetrics(view)
  server.get('/healthz', (_request, reply) => reply.code(view.alive() ? 200 : 503).send({ alive: view.alive() }))
  server.get('/readyz', (_request, reply) => {
    const checks = view.readiness()
    const ready = checks.every((check) => check.ok)
    return reply.code(ready ? 200 : 503).send({ ready, checks })
  })
  server.get('/metrics', async (_request, reply) => reply.type(metrics.contentType).send(await metrics.render()))
}

function serveApi(server: FastifyInstance, view: DaemonView): void {
  server.get('/api/status', () => ({ ...view.status(), events: view.recentEvents(EVENTS_SHOWN) }))
  server.get('/api/estimate', (_request, reply) => {
    const estimate = view.estimate()
    return estimate === undefined
      ? sendProblem(reply, 503, 'No estimate yet: it needs the first fused readings.')
      : reply.send(estimate)
  })
  server.post('/api/laboratory', { bodyLimit: LABORATORY_MAX_BYTES }, async (request, reply) => {
    const body = laboratoryBody.safeParse(request.body)
    if (!body.success) return sendProblem(reply, 400, 'The upload is not as expected.', issuesOf(body.error))
    const { sampledAt, accept, sample, mapping, ...upload } = body.data
    const answer = await view.addLaboratory({
      ...upload,
      sampledAtMs: parseInstant(sampledAt),
      isAccepted: accept,
      ...(sample === undefined ? {} : { sample }),
      ...(mapping === undefined ? {} : { mapping }),
    })
    if (answer.kind === 'refused') return sendProblem(reply, 422, `${upload.fileName} could not be taken.`, answer.why)
    return reply.code(answer.kind === 'held' ? 202 : 201).send(answer)
  })
  // no login: whoever sees that something is wrong must be able to stop it
  server.post('/api/hold', async (request, reply) => {
    const body = holdBody.safeParse(request.body ?? undefined)
    if (!body.success) return sendProblem(reply, 400, 'The request is not as expected.', issuesOf(body.error))
    const answer = await view.instruct(body.data.by, body.data.reason, { instruction: 'hold' })
    return answer.kind === 'taken' ? reply.send({ held: true }) : sendRefusal(reply, 'The hold', answer)
  })
  server.post('/api/instruction', async (request, reply) => {
    const body = instructionBody.safeParse(request.body)
    if (!body.success) return sendProblem(reply, 400, 'The instruction is not as expected.', issuesOf(body.error))
    const { by, reason, instruction } = body.data
    const answer = await view.instruct(by, reason, instruction)
    return answer.kind === 'taken'
      ? reply.send({ taken: true })
      : sendRefusal(reply, `The ${instruction.instruction}`, answer)
  })
}

function sendRefusal(reply: FastifyReply, what: string, answer: Exclude<InstructionAnswer, { kind: 'taken' }>) {
  return sendProblem(reply, answer.kind === 'refused' ? 422 : 503, `${what} is not in force: ${answer.why}.`)
}

function issuesOf(error: z.ZodError): string[] {
  return error.issues.map((issue) => `${issue.path.join('.') || 'body'}: ${issue.message}`)
}

function servePage(server: FastifyInstance, folder: URL): void {
  for (const [path, [file, type]] of Object.entries(PAGE_FILES)) {
    server.get(path, async (_request, reply) => reply.type(type).send(await readFile(new URL(file, folder))))
  }
}
