/** `tarnward limit`: the limits in force, and a change within the ceilings of the file. */

import type { Limit, Limits } from '../shell/api/schema/limits.ts'
import { CommandFailure } from './command-failure.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

export interface LimitListOptions {
  readonly url: string
  readonly json?: boolean
}

/** Prints every limit: value, how far it may go, and who changed it last. */
export async function limitList(options: LimitListOptions): Promise<void> {
  const { limits } = await limitsOf(options.url)
  if (options.json) process.stdout.write(`${JSON.stringify({ limits })}\n`)
  else process.stdout.write(`${limits.map(lineOf).join('\n')}\n`)
}

async function limitsOf(url: string): Promise<Limits> {
  const { status, body } = await askDaemon(url, '/api/limits')
  if (status >= 400) throw refusalOf(status, body)
  return body as Limits
}

function lineOf({ path, value, unit, ceiling, floor, meaning, isChangeable, changed }: Limit): string {
  const bound = ceiling === undefined ? `at least ${floor}` : `at most ${ceiling}`
  const how = isChangeable ? `from here ${bound}` : 'only in the file'
  const who = changed === undefined ? '' : `\n    was ${changed.from}; ${changed.by}: ${changed.reason}`
  const figure = `${value} ${unit}`.trimEnd()
  return `${path}  ${figure}  (${how})  ${meaning}${who}`
}

export interface LimitSetOptions {
  readonly url: string
  readonly reason: string
  readonly by?: string
}

/** Changes one limit; whoever changed it meanwhile is told of, not overwritten. */
export async function limitSet(path: string, text: string, options: LimitSetOptions): Promise<void> {
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value))
    throw new CommandFailure('usage', `value: found "${text}"; a number in the unit of the limit is needed, e.g. 6.5`)
  const { url, reason, by } = options
  const was = (await limitsOf(url)).limits.find((limit) => limit.path === path)?.value
  const change = {
    limit: path,
    value,
    reason,
    ...(by === undefined ? {} : { by }),
    ...(was === undefined ? {} : { was }),
  }
  const { status, body } = await askDaemon(url, '/api/limits', change)
  if (status >= 400) throw refusalOf(status, body)
  process.stdout.write(`${(body as { readonly text?: string }).text ?? 'In force, and kept in the ledger.'}\n`)
}
