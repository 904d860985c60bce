/** `tarnward diagnose`: what may have gone wrong unseen, likeliest first, and how to find out. */

import type { Diagnosis } from '../shell/api/schema/diagnosis.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

/** @throws CommandFailure where no daemon answers, or it may not be asked */
export async function diagnose({ url, json }: { readonly url: string; readonly json?: boolean }): Promise<void> {
  const { status, body } = await askDaemon(url, '/api/diagnosis')
  if (status >= 400) throw refusalOf(status, body)
  process.stdout.write(json ? `${JSON.stringify(body)}\n` : diagnosisText(body as Diagnosis))
}

/** As it is printed. */
export function diagnosisText({ text, period, nothingShare, explanations }: Diagnosis): string {
  const lines = explanations.flatMap(({ share, sinceMs, sentence, check }) => [
    `  ${percent(share)}  ${sentence} Since about ${day(sinceMs)}.`,
    `        To find out: ${check}`,
  ])
  const nothing = nothingShare === undefined ? [] : [`  ${percent(nothingShare)}  Nothing out of the ordinary.`]
  const days = period === undefined ? [] : [`From ${day(period.fromMs)} to ${day(period.untilMs)} UTC:`]
  return [text, ...days, ...lines, ...nothing, ''].join('\n')
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`.padStart(5)
}

function day(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 16).replace('T', ' ')
}
