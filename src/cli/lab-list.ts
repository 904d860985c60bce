/** `tarnward lab list`: reports given, laboratory against estimate at sampling. */

import type { LaboratoryList } from '../shell/api/schema/laboratory.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

/** @throws CommandFailure where no daemon answers, or it may not be asked */
export async function labList({ url, json }: { readonly url: string; readonly json?: boolean }): Promise<void> {
  const { status, body } = await askDaemon(url, '/api/laboratory')
  if (status >= 400) throw refusalOf(status, body)
  const { reports } = body as LaboratoryList
  if (json) process.stdout.write(`${JSON.stringify(body)}\n`)
  else process.stdout.write(reports.length === 0 ? 'No report was given yet.\n' : reports.map(reportText).join(''))
}

function reportText({ id, sampledAtMs, state, by, values }: LaboratoryList['reports'][number]): string {
  const rows = values.map(({ element, mgPerL, belowMgPerL, estimateMgPerL, estimateSdMgPerL }) => {
    const value = mgPerL === undefined ? `< ${belowMgPerL}` : String(Number(mgPerL.toPrecision(3)))
    const believed =
      estimateMgPerL === undefined
        ? 'not known any more'
        : `believed ${Number(estimateMgPerL.toPrecision(3))} ± ${Number((estimateSdMgPerL ?? 0).toPrecision(2))}`
    return `  ${element.padEnd(6)} ${value.padStart(8)} mg/L   ${believed}\n`
  })
  return `${id}  bottle of ${new Date(sampledAtMs).toISOString()}, ${state}, by ${by}\n${rows.join('')}`
}
