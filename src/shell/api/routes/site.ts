/** Laboratory and commissioning as far as they need the site itself. */

import { formatReportError } from '../../../formulation/laboratory/report.ts'
import { parseInstant } from '../../clock.ts'
import type { DaemonView } from '../../daemon-view.ts'
import { readBottle } from '../../laboratory-upload.ts'
import { ROUTES } from '../schema/index.ts'
import type { Answered, Serve } from '../serve.ts'
import type { Site } from '../site.ts'
import { probeLineOf, pumpRateOf } from '../view/calibration.ts'
import { commissioningView } from '../view/commissioning.ts'
import { laboratoryList, previewOf } from '../view/laboratory.ts'
import { momentView } from '../view/moment.ts'
import { signed } from './person.ts'

export function serveSite(serve: Serve, site: Site, view: DaemonView): void {
  serveReports(serve, site, view)
  serve(ROUTES.commissioning.view, async () => ({ status: 200, json: await commissioningView(site) }))
  serve(ROUTES.commissioning.pumpRun, async ({ caller, body }): Promise<Answered> => {
    const { reason, by, ...run } = body
    const answer = await view.runPump(signed(caller, by), reason, run)
    if (answer.kind === 'on-its-way') {
      const { commandId, runMs, volumeMl } = answer
      return { status: 202, json: { commandId, runMs, expectedMl: volumeMl } }
    }
    return { status: answer.kind === 'refused' ? 422 : 503, refused: `The pump does not run: ${answer.why}.` }
  })
  serve(ROUTES.commissioning.pumpRate, ({ body }) => {
    const stock = site.configuration.site.stocks.find(({ id }) => id === body.stock)
    if (!stock) return { status: 422, refused: `This site has no stock "${body.stock}".` }
    const measured = site.state().safety.ratesUlPerS[stock.id]
    const inForce = measured === undefined ? stock.rateMlPerMin : (measured * 60) / 1000
    return { status: 200, json: pumpRateOf(body.runs, inForce) }
  })
  serve(ROUTES.commissioning.probe, ({ body }) => {
    const line = probeLineOf(body.kind, body.points)
    return line
      ? { status: 200, json: line }
      : { status: 422, refused: 'The probe shows the same in both: no line can be drawn. Is it in the solution?' }
  })
}

function serveReports(serve: Serve, site: Site, view: DaemonView): void {
  serve(ROUTES.laboratory.list, async () => ({ status: 200, json: await laboratoryList(site) }))
  serve(ROUTES.laboratory.moment, async () => ({ status: 200, json: await momentView(site) }))
  serve(ROUTES.laboratory.preview, async ({ body }): Promise<Answered> => {
    const { sampledAt, sample, mapping, ...file } = body
    const bottle = readBottle({
      ...{ ...file, sampledAtMs: parseInstant(sampledAt) },
      ...(sample === undefined ? {} : { sample }),
      ...(mapping === undefined ? {} : { mapping }),
    })
    const refused = `${file.fileName} cannot be read as a report.`
    if (bottle.kind === 'unreadable') return { status: 422, refused, errors: bottle.errors.map(formatReportError) }
    if (bottle.kind === 'refused') return { status: 422, refused, errors: bottle.why }
    const preview = await previewOf(site, bottle)
    return 'refused' in preview
      ? { status: 422, refused: `${file.fileName} would be refused: ${preview.refused}.` }
      : { status: 200, json: preview }
  })
  serve(ROUTES.laboratory.drawn, async ({ caller, body }): Promise<Answered> => {
    const moment = await momentView(site)
    const doneAtMs = body.atMs ?? site.nowMs()
    const act = { act: 'noted', doneAtMs, text: body.note ?? 'sample drawn', about: 'sample' } as const
    const answer = await view.tell({ kind: 'act', by: signed(caller, body.by), act })
    if (answer.kind === 'taken') return { status: 200, json: { atMs: doneAtMs, moment } }
    return { status: answer.kind === 'refused' ? 422 : 503, refused: `Not stamped: ${answer.why}.` }
  })
}
