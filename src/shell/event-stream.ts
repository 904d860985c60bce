import type { ServerResponse } from 'node:http'
import type { FastifyInstance } from 'fastify'
import { ROUTES } from './api/schema/index.ts'
import { type Clock, repeat } from './clock.ts'
import type { DaemonView, EventView } from './daemon-view.ts'
import { sendProblem } from './problem.ts'

/** A page, a phone and a few dashboards; a leaking client must not take the daemon’s memory. */
const STREAMS_MAX = 16
/** Proxies close a silent stream, commonly after 30 to 60 s (common practice). */
const KEEPALIVE_MS = 15_000
const REPLAY_MAX = 200
/** A reader that is this far behind is let go; it comes back with Last-Event-ID. */
const BACKLOG_MAX_BYTES = 256 * 1024

/**
 * `GET /api/events`: server-sent events (WHATWG HTML, 9.2), resumed by Last-Event-ID, which is the event’s sequence.
 * Streams end in preClose, since an open one keeps a server from closing.
 */
export function serveEvents(server: FastifyInstance, view: DaemonView, clock: Clock): void {
  const streams = new Set<ServerResponse>()
  const route = ROUTES.event.events

  server.get(route.path, { config: { route } }, (request, reply) => {
    if (streams.size >= STREAMS_MAX)
      return sendProblem(reply, 503, `${STREAMS_MAX} streams are open; close one of the pages.`)
    const after = Number(request.headers['last-event-id'])
    reply.hijack()
    const stream = reply.raw
    streams.add(stream)
    for (const [name, value] of Object.entries(reply.getHeaders()))
      if (value !== undefined) stream.setHeader(name, value)
    stream.writeHead(200, {
      'content-type': 'text/event-stream',
      'cache-control': 'no-store',
      'x-accel-buffering': 'no',
    })
    stream.write('retry: 2000\n\n')
    if (Number.isSafeInteger(after) && request.headers['last-event-id'] !== undefined) {
      for (const event of view.recentEvents(REPLAY_MAX, after)) write(stream, formatEvent(event))
    }
    const unsubscribe = view.subscribe((event) => write(stream, formatEvent(event)))
    const stopKeepalive = repeat(clock, KEEPALIVE_MS, () => write(stream, ': still here\n\n'))
    stream.on('close', () => {
      streams.delete(stream)
      unsubscribe()
      stopKeepalive()
    })
    return reply
  })

  server.addHook('preClose', async () => {
    for (const stream of streams) stream.end()
  })
}

function write(stream: ServerResponse, text: string): void {
  if (stream.writableEnded || stream.destroyed) return
  if (stream.writableLength > BACKLOG_MAX_BYTES) stream.destroy()
  else stream.write(text)
}

/** A scan is no event to be resumed after, so it carries no id. */
function formatEvent(event: EventView): string {
  if (event.kind === 'scan') return `event: scan\ndata: ${JSON.stringify(event)}\n\n`
  return `id: ${event.sequence}\ndata: ${JSON.stringify(event)}\n\n`
}
