import type { FastifyReply } from 'fastify'

/** Problem details for HTTP APIs, RFC 9457. `type` is left at its default, so `title` is the status’s own phrase. */
export interface Problem {
  readonly status: number
  readonly title: string
  /** what was found, what is allowed, what to do next */
  readonly detail: string
  /** one line for each thing that is wrong */
  readonly errors?: readonly string[]
  readonly faults?: readonly Fault[]
}

/** One thing wrong with a request. */
export interface Fault {
  /** field, with dots */
  readonly place: string
  readonly found: string
  readonly allowed: string
}

const TITLES: Readonly<Record<number, string>> = {
  400: 'Bad Request',
  401: 'Unauthorized',
  403: 'Forbidden',
  404: 'Not Found',
  405: 'Method Not Allowed',
  409: 'Conflict',
  413: 'Content Too Large',
  415: 'Unsupported Media Type',
  421: 'Misdirected Request',
  422: 'Unprocessable Content',
  429: 'Too Many Requests',
  500: 'Internal Server Error',
  501: 'Not Implemented',
  503: 'Service Unavailable',
}

/** Answers with a problem. */
export function sendProblem(
  reply: FastifyReply,
  status: number,
  detail: string,
  errors?: readonly string[],
  faults?: readonly Fault[],
): FastifyReply {
  const title = TITLES[status] ?? 'Error'
  const problem: Problem = { status, title, detail, ...(errors ? { errors } : {}), ...(faults ? { faults } : {}) }
  return reply.code(status).type('application/problem+json').send(JSON.stringify(problem))
}
