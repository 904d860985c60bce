/** Speaking to the running daemon. */

import { CommandFailure } from './command-failure.ts'

/** The answer’s status and JSON; a daemon that is not there is a failure that says what to do. */
export async function askDaemon(
  url: string,
  path: string,
  post?: unknown,
): Promise<{ readonly status: number; readonly body: unknown }> {
  const request =
    post === undefined
      ? {}
      : { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(post) }
  if (!URL.canParse(url))
    throw new CommandFailure('usage', `--url: found "${url}"; an address such as http://127.0.0.1:8420 is needed`)
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
