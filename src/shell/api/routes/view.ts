/** Routes that only show. */

import type { Clock } from '../../clock.ts'
import type { DaemonView } from '../../daemon-view.ts'
import { createSlices } from '../../slices.ts'
import { ROUTES } from '../schema/index.ts'
import type { Answered, Serve } from '../serve.ts'
import type { Period, Site } from '../site.ts'
import { dosesView, stocksView } from '../view/dose.ts'
import { historyView, SERIES_ALLOWED, unknownSeries } from '../view/history.ts'
import { nowView } from '../view/now.ts'
import { actsView, alarmsView } from '../view/person.ts'

const DAY_MS = 86_400_000
const DAYS_MAX = 400

export function serveViews(serve: Serve, site: Site, view: DaemonView, clock: Clock): void {
  serve(ROUTES.status.now, () => ({ status: 200, json: nowView(site, view) }))
  serve(ROUTES.history.history, async ({ query }) => {
    const refused = periodRefused({ fromMs: query.from, untilMs: query.to })
    if (refused) return refused
    const series = query.series.split(',').filter((name) => name !== '')
    const unknown = unknownSeries(series)
    if (unknown.length > 0)
      return { status: 400, refused: `There is no series ${unknown.join(', ')}; allowed are ${SERIES_ALLOWED}.` }
    return {
      status: 200,
      json: await historyView(
        site,
        { ...query, series },
        createSlices(() => clock.monoMs()),
      ),
    }
  })
  serve(ROUTES.dose.list, ({ query }) => within(site, query, (period) => dosesView(site, period, query.limit)))
  serve(ROUTES.act.acts, ({ query }) => within(site, query, (period) => actsView(site, period, query.limit)))
  serve(ROUTES.dose.stocks, async () => ({ status: 200, json: await stocksView(site) }))
  serve(ROUTES.alarm.list, async () => ({ status: 200, json: await alarmsView(site, view) }))
}

interface PeriodQuery {
  readonly from?: number | undefined
  readonly to?: number | undefined
}

async function within(
  site: Site,
  { from, to }: PeriodQuery,
  look: (period: Period) => Promise<unknown>,
): Promise<Answered> {
  const untilMs = to ?? site.nowMs()
  const period = { fromMs: from ?? untilMs - DAY_MS, untilMs }
  return periodRefused(period) ?? { status: 200, json: await look(period) }
}

function periodRefused({ fromMs, untilMs }: Period): Answered | undefined {
  if (untilMs > fromMs && untilMs - fromMs <= DAYS_MAX * DAY_MS) return undefined
  return { status: 400, refused: `from must lie before to, by ${DAYS_MAX} days at most.` }
}
