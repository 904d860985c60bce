import { problemOf, RequestFailure } from './problem.ts'
import { readToken } from './sign-in.ts'

/** The daemon answers in milliseconds; what takes longer than this is lost on the way. */
const REQUEST_MAX_MS = 15_000

/**
 * Asks the daemon and gives its JSON.
 * @throws RequestFailure where it refuses or cannot be reached
 */
export async function ask<Answer>(path: string): Promise<Answer> {
  return send<Answer>('GET', path)
}

/**
 * Tells the daemon something. Everything sent this way carries a key of its own, so that a repeated request after a
 * lost answer is never obeyed twice.
 * @param key keep it and send it again when the same act is tried again
 * @throws RequestFailure where it refuses or cannot be reached
 */
export async function tell<Answer>(path: string, body: unknown, key: string = newKey()): Promise<Answer> {
  return send<Answer>('POST', path, { body, key })
}

/** A name for one act of a person. */
export function newKey(): string {
  return crypto.randomUUID()
}

async function send<Answer>(method: string, path: string, what?: { body: unknown; key: string }): Promise<Answer> {
  const token = readToken()
  const headers: Record<string, string> = { accept: 'application/json' }
  if (token !== null) headers['authorization'] = `Bearer ${token}`
  if (what !== undefined) {
    headers['content-type'] = 'application/json'
    headers['idempotency-key'] = what.key
  }
  const response = await fetch(path, {
    method,
    headers,
    signal: AbortSignal.timeout(REQUEST_MAX_MS),
    ...(what === undefined ? {} : { body: JSON.stringify(what.body) }),
  }).catch(() => {
    throw new RequestFailure({ status: 0, title: 'The daemon cannot be reached just now.', reasons: [] })
  })
  if (!response.ok) throw new RequestFailure(await problemOf(response))
  return (await response.json()) as Answer
}
