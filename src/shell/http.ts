/** The daemon’s HTTP server: one guard, the routes of the API, the page’s files. */

import Fastify, { type FastifyInstance } from 'fastify'
import type { Access } from './api/access/access.ts'
import { guard, LOOPBACK } from './api/access/guard.ts'
import type { Desk } from './api/desk.ts'
import { openApiOf } from './api/openapi.ts'
import { serveDesk } from './api/routes/desk.ts'
import { serveDiagnosis } from './api/routes/diagnosis.ts'
import { serveHealth } from './api/routes/health.ts'
import { serveLaboratory } from './api/routes/laboratory.ts'
import { serveLimits } from './api/routes/limits.ts'
import { servePeople } from './api/routes/person.ts'
import { serveReport } from './api/routes/report.ts'
import { serveSite } from './api/routes/site.ts'
import { serveTokens } from './api/routes/token.ts'
import { serveViews } from './api/routes/view.ts'
import { ROUTES } from './api/schema/index.ts'
import type { Route } from './api/schema/route.ts'
import { createServe } from './api/serve.ts'
import type { Site } from './api/site.ts'
import { type Clock, createRealClock } from './clock.ts'
import type { DaemonView } from './daemon-view.ts'
import { serveEvents } from './event-stream.ts'
import type { Logger } from './log.ts'
import { servePage } from './page-files.ts'
import { sendProblem } from './problem.ts'

export interface HttpOptions {
  readonly view: DaemonView
  /** what the fuller views are made of; without it only the short ones are served */
  readonly site?: Site
  /** water, recipe, stocks, amend; without it they are not served */
  readonly desk?: Desk
  /** without it nobody can sign in: near by there is reading and hold, else nothing */
  readonly access?: Access
  /** loopback where not given */
  readonly host?: string
  /** 0 takes any free one */
  readonly port: number
  /** names under which the page is reached, where not by a loopback name */
  readonly hostNames?: readonly string[]
  /** folder of the page’s files; without it there is the API alone */
  readonly pageFolder?: URL
  readonly log?: Logger
  readonly clock?: Clock
}

export interface HttpServer {
  readonly url: string
  close(): Promise<void>
}

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
  const { view, access } = options
  const clock = options.clock ?? createRealClock()
  const server = Fastify({ forceCloseConnections: true })
  server.removeContentTypeParser('text/plain')
  const served: Route[] = []
  server.addHook('onRoute', ({ method, url, config }) => {
    if (!config?.route && !config?.isPage) throw new Error(`${method} ${url} is in no document`)
    if (config.route && !served.includes(config.route)) served.push(config.route)
  })
  guard(server, guardOptions(options, clock))
  answerErrors(server, options.log)
  const serve = createServe(server, access, () => clock.wallMs())
  serveHealth(serve, view)
  servePeople(serve, view, clock)
  serveLaboratory(serve, view)
  serveTokens(serve, access)
  if (options.site) {
    serveViews(serve, options.site, view, clock)
    serveSite(serve, options.site, view)
    serveLimits(serve, view, options.site, clock)
    serveReport(serve, options.site, clock)
    serveDiagnosis(serve, options.site, clock)
  }
  if (options.desk) serveDesk(serve, options.desk)
  serveEvents(server, view, clock)
  serve(ROUTES.health.document, () => ({ status: 200, json: openApiOf(served) }))
  if (options.pageFolder) servePage(server, options.pageFolder)
  return server
}

function guardOptions({ access, host, hostNames }: HttpOptions, clock: Clock) {
  const isLoopback = LOOPBACK.includes(host ?? LOOPBACK[0]!)
  const namesMatter = hostNames !== undefined || isLoopback
  return {
    access,
    names: namesMatter ? [...LOOPBACK, ...(hostNames ?? [])] : undefined,
    isReadingOpen: isLoopback && hostNames === undefined,
    monoMs: () => clock.monoMs(),
  }
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
