import type { FastifyReply } from 'fastify'

/** Problem details for HTTP APIs, RFC 9457. `type` is left at its default, so `title` is the status’s own phrase. */
export interface Problem {
  readonly status: number
  readonly title: string
  /** what was found, what is allowed, what to do next */
  readonly detail: string
  /** one line for each thing that is wrong */
  readonly errors?: readonly string[]
}

const TITLES: Readonly<Record<number, string>> = {
  400: 'Bad Request',
  403: 'Forbidden',
  404: 'Not Found',
  405: 'Method Not Allowed',
  413: 'Content Too Large',
  415: 'Unsupported Media Type',
  421: 'Misdirected Request',
  422: 'Unprocessable Content',
  500: 'Internal Server Error',
  503: 'Service Unavailable',
}

/** Answers with a problem. */
export function sendProblem(
  reply: FastifyReply,
  status: number,
  detail: string,
  errors?: readonly string[],
): FastifyReply {
  const problem: Problem = { status, title: TITLES[status] ?? 'Error', detail, ...(errors ? { errors } : {}) }
  return reply.code(status).type('application/problem+json').send(JSON.stringify(problem))
}
