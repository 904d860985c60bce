/** Speaking to the running daemon. */

import { randomUUID } from 'node:crypto'
import { LOOPBACK } from '../shell/api/access/guard.ts'
import { readLocalKey } from '../shell/api/access/local-key.ts'
import { CommandFailure } from './command-failure.ts'

/** The answer’s status and JSON; a daemon that is not there is a failure that says what to do. */
export async function askDaemon(
  url: string,
  path: string,
  post?: unknown,
): Promise<{ readonly status: number; readonly body: unknown }> {
  if (!URL.canParse(url))
    throw new CommandFailure('usage', `--url: found "${url}"; an address such as http://127.0.0.1:8420 is needed`)
  const headers = { ...credentials(new URL(url)), 'idempotency-key': randomUUID() }
  const request =
    post === undefined
      ? { headers }
      : {
          method: 'POST',
          headers: { ...headers, 'content-type': 'application/json' },
          body: JSON.stringify(post),
        }
  try {
    const response = await fetch(new URL(path, url), request)
    return { status: response.status, body: await response.json() }
  } catch {
    throw new CommandFailure(
      'unavailable',
      `No daemon answers at ${url}. Start it with "tarnward run", or name its page with --url.`,
    )
  }
}

/**
 * The text at a path, for what is no JSON.
 *
 * @throws CommandFailure where no daemon answers, or it refuses
 */
export async function askDaemonForText(url: string, path: string): Promise<string> {
  if (!URL.canParse(url))
    throw new CommandFailure('usage', `--url: found "${url}"; an address such as http://127.0.0.1:8420 is needed`)
  const response = await fetch(new URL(path, url), { headers: credentials(new URL(url)) }).catch(() => {
    throw new CommandFailure('unavailable', `No daemon answers at ${url}.`)
  })
  if (response.ok) return response.text()
  throw refusalOf(response.status, await response.json())
}

/** A token from the environment; beside the daemon, as its own user, none is needed. */
function credentials(url: URL): Record<string, string> {
  const isLocal = LOOPBACK.includes(url.hostname.replace(/^\[(.*)\]$/, '$1'))
  const secret = process.env['TARNWARD_TOKEN'] ?? (isLocal ? readLocalKey(Number(url.port || 80)) : undefined)
  return secret === undefined ? {} : { authorization: `Bearer ${secret}` }
}

/** The refusal of an answer as a failure with its own exit code. */
export function refusalOf(status: number, body: unknown): CommandFailure {
  const { detail, errors } = body as { readonly detail?: string; readonly errors?: readonly string[] }
  const text = [detail ?? 'The daemon refused it.', ...(errors ?? [])].join('\n')
  if (status === 401 || status === 403)
    return new CommandFailure(
      'no-permission',
      `${text}\nPut a token into TARNWARD_TOKEN, or ask as the daemon’s own user.`,
    )
  return new CommandFailure(status === 503 ? 'input-output' : 'data', text)
}
