/** `tarnward act …`: what was done by hand, told to the running daemon. */

import { CommandFailure } from './command-failure.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

export interface ActOptions {
  readonly url: string
  readonly by?: string
  readonly at?: string
}

export type ActFields = Readonly<Record<string, string | number | undefined>>

/** Tells it; `at` is when it was done, now where it is not said. @throws CommandFailure as `instruct` */
export async function act(name: string, fields: ActFields, options: ActOptions): Promise<void> {
  const { url, by, at } = options
  const doneAt = at === undefined ? {} : { doneAtMs: instantOf(at) }
  const body = { ...(by === undefined ? {} : { by }), act: { act: name, ...fields, ...doneAt } }
  const answer = await askDaemon(url, '/api/act', body)
  if (answer.status >= 400) throw refusalOf(answer.status, answer.body)
  process.stdout.write('Logged. The estimate takes it in at the moment it was done.\n')
}

/** A number of a flag or an argument. @throws CommandFailure for anything else */
export function amount(name: string, text: string): number {
  const value = Number(text.replace(/ ?(g|L|mL|mL\/min)$/, ''))
  if (value > 0 && value < Infinity) return value
  throw new CommandFailure('usage', `${name}: found "${text}"; a number above 0 is needed`)
}

function instantOf(text: string): number {
  const atMs = /^\d{4}-\d\d-\d\dT.*(Z|[+-]\d\d:\d\d)$/.test(text) ? Date.parse(text) : Number.NaN
  if (Number.isFinite(atMs)) return atMs
  throw new CommandFailure(
    'usage',
    `--at: found "${text}"; a time with its offset is needed, e.g. 2026-03-16T08:30:00Z`,
  )
}
