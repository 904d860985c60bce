/** `tarnward lab withdraw|accept|hold` and `tarnward spot`: a person’s word on what was measured. */

import { CommandFailure } from './command-failure.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

export interface WordOptions {
  readonly url: string
  readonly by?: string
  readonly reason: string
}

/** @throws CommandFailure where there is no such report */
export async function labWithdraw(id: string, options: WordOptions): Promise<void> {
  await post(`/api/laboratory/${encodeURIComponent(id)}/withdraw`, options, { reason: options.reason })
  process.stdout.write('Withdrawn. The estimate becomes what it would have been without it.\n')
}

/** What a person decides of a report that is held. @throws CommandFailure where none of this id is */
export async function labDecide(id: string, decision: 'accept' | 'hold', options: WordOptions): Promise<void> {
  await post(`/api/laboratory/${encodeURIComponent(id)}/decision`, options, { reason: options.reason, decision })
  process.stdout.write(
    decision === 'accept' ? 'Accepted; everything since its bottle is run again.\n' : 'It stays held.\n',
  )
}

export interface SpotOptions {
  readonly url: string
  readonly by?: string
  readonly sd?: string
}

/** A handheld value. @throws CommandFailure for what is no number, or nothing that is tracked */
export async function spot(quantity: string, text: string, options: SpotOptions): Promise<void> {
  const sd = options.sd === undefined ? {} : { sd: numberOf('--sd', options.sd) }
  await post('/api/spot-reading', options, { quantity, value: numberOf('value', text), ...sd })
  process.stdout.write('Taken. It counts with its own uncertainty.\n')
}

function numberOf(name: string, text: string): number {
  const value = Number(text)
  if (text.trim() !== '' && value >= 0 && value < Infinity) return value
  throw new CommandFailure('usage', `${name}: found "${text}"; a number from 0 is needed`)
}

async function post(path: string, { url, by }: Pick<WordOptions, 'url' | 'by'>, fields: object): Promise<void> {
  const answer = await askDaemon(url, path, { ...(by === undefined ? {} : { by }), ...fields })
  if (answer.status >= 400) throw refusalOf(answer.status, answer.body)
}
