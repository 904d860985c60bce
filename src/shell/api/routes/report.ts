/** A period as one file to keep. */

import type { Clock } from '../../clock.ts'
import { reportFacts } from '../../report/facts.ts'
import { reportHtml } from '../../report/report.ts'
import { createSlices } from '../../slices.ts'
import { ROUTES } from '../schema/index.ts'
import type { Serve } from '../serve.ts'
import type { Site } from '../site.ts'

/** The report styles itself and does nothing else, whatever a hostile name in it would like. */
const POLICY =
  "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
/** More than two years are no report. */
const MOST_MS = 800 * 86_400_000

export function serveReport(serve: Serve, site: Site, clock: Clock): void {
  serve(ROUTES.report.report, async ({ query, reply }) => {
    const period = { fromMs: query.from, untilMs: query.to }
    const lengthMs = period.untilMs - period.fromMs
    if (!(lengthMs > 0 && lengthMs <= MOST_MS))
      return { status: 422, refused: 'A report is of a period that ends after it begins, and of at most 800 days.' }
    const text = reportHtml(
      await reportFacts(
        site,
        period,
        createSlices(() => clock.monoMs()),
      ),
    )
    const name = `${site.configuration.site.site}-${new Date(period.fromMs).toISOString().slice(0, 10)}.html`
    reply.header('content-security-policy', POLICY)
    reply.header('content-disposition', `inline; filename="${name}"`)
    return reply.type('text/html; charset=utf-8').send(text)
  })
}
