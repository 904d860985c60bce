/** `tarnward lab withdraw`: a report taken back. */

import { askDaemon, refusalOf } from './daemon-http.ts'

export interface LabWithdrawOptions {
  readonly url: string
  readonly by?: string
  readonly reason: string
}

/** @throws CommandFailure where there is no such report */
export async function labWithdraw(id: string, { url, by, reason }: LabWithdrawOptions): Promise<void> {
  const body = { ...(by === undefined ? {} : { by }), reason }
  const answer = await askDaemon(url, `/api/laboratory/${encodeURIComponent(id)}/withdraw`, body)
  if (answer.status >= 400) throw refusalOf(answer.status, answer.body)
  process.stdout.write('Withdrawn. The estimate becomes what it would have been without it.\n')
}
