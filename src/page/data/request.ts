import { failureOf, RequestFailure } from './problem.ts'

/** The daemon answers in milliseconds; what takes longer than this is lost on the way. */
const REQUEST_MAX_MS = 20_000

/**
 * Asks the daemon and gives its JSON.
 * @param patienceMs how long the answer may take, where it is known to take long
 * @throws RequestFailure where it refuses or cannot be reached
 */
export async function ask<Answer>(path: string, patienceMs = REQUEST_MAX_MS): Promise<Answer> {
  return (await send('GET', path, undefined, patienceMs)) as Answer
}

/**
 * Tells the daemon something. Everything sent this way carries a key of its own, so that a repeated request after a
 * lost answer is never obeyed twice.
 * @param key keep it and send it again when the same act is tried again
 * @throws RequestFailure where it refuses or cannot be reached
 */
export async function tell<Answer>(
  path: string,
  body: unknown,
  key: string = newKey(),
  patienceMs = REQUEST_MAX_MS,
): Promise<Answer> {
  return (await send('POST', path, { body, key }, patienceMs)) as Answer
}

/** A name for one act of a person. */
export function newKey(): string {
  // randomUUID is there on safe origins only, and a reservoir in the local network may be none
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  return [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}

async function send(
  method: string,
  path: string,
  what?: { body: unknown; key: string },
  patienceMs = REQUEST_MAX_MS,
): Promise<unknown> {
  const headers: Record<string, string> = { accept: 'application/json' }
  if (what !== undefined) {
    headers['content-type'] = 'application/json'
    headers['idempotency-key'] = what.key
  }
  const response = await fetch(path, {
    method,
    headers,
    credentials: 'same-origin',
    signal: AbortSignal.timeout(patienceMs),
    ...(what === undefined ? {} : { body: JSON.stringify(what.body) }),
  }).catch(() => {
    throw new RequestFailure(0, [
      'The daemon cannot be reached just now. Nothing was changed as far as this page knows.',
    ])
  })
  if (!response.ok) throw await failureOf(response)
  return response.json()
}
