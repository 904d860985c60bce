/** Trends over a day, a week, a month: one chart a series, what happened marked in it, and the same as a table. */

import type { JSX } from 'preact'
import { useMemo, useState } from 'preact/hooks'
import type { History, Marker, Series } from '../../shell/api/schema/history.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import type { Preferences } from '../data/preferences.ts'
import { inUnits, tellNumber } from '../data/quantity.ts'
import { useWords } from '../data/words.ts'
import { Table } from '../parts/table.tsx'
import { TrendChart } from '../parts/trend-chart.tsx'
import { Unfolding } from '../parts/unfolding.tsx'

const DAY_MS = 86_400_000
const SPANS = [
  { name: 'Day', days: 1 },
  { name: 'Week', days: 7 },
  { name: 'Month', days: 30 },
] as const
const NAMES: Readonly<Record<string, string>> = {
  conductivity: 'EC',
  ph: 'pH',
  temperature: 'Water temperature',
  level: 'Level',
  'water-used': 'Water used',
}
/** Asked again no oftener than a chart can show. */
const ROUND_MS = 60_000
const TABLE_ROWS = 24

interface TrendsProps {
  readonly nowMs: number
  readonly elements: readonly string[]
  readonly preferences: Preferences
}

export function Trends({ nowMs, elements, preferences }: TrendsProps): JSX.Element {
  const [days, setDays] = useState<number>(7)
  const [chosen, setChosen] = useState('measured')
  const to = Math.ceil(nowMs / ROUND_MS) * ROUND_MS
  const series = chosen === 'measured' ? 'conductivity,ph,temperature,level' : chosen
  const path = `/api/history?from=${to - days * DAY_MS}&to=${to}&series=${encodeURIComponent(series)}&points=400`
  const { value, failure } = useLive<History>(path)
  // A chart is drawn anew only where its series is another.
  const shown = useMemo(() => value?.series.map((one) => inUnits(one, preferences)) ?? [], [value, preferences])
  return (
    <section aria-labelledby="trends-title">
      <h2 id="trends-title">Trends</h2>
      <div class="actions">
        {SPANS.map((span) => (
          <button key={span.name} type="button" aria-pressed={span.days === days} onClick={() => setDays(span.days)}>
            {span.days === days ? '✓ ' : ''}
            {span.name}
          </button>
        ))}
        <label class="in-line">
          Show
          <select value={chosen} onChange={(event) => setChosen(event.currentTarget.value)}>
            <option value="measured">what the probes read</option>
            <option value="water-used">water used</option>
            {elements.map((element) => (
              <option key={element} value={element}>
                {element}
              </option>
            ))}
          </select>
        </label>
      </div>
      {failure.length > 0 ? <p class="quiet">{failure.join(' ')}</p> : null}
      <div class="figures" data-from={value?.from}>
        {shown.map((one) => (
          <Trend key={one.series} series={one} history={value!} />
        ))}
      </div>
      {value === null ? null : <p class="quiet">Along the foot of each chart: {KEY}</p>}
      {value === null ? null : <Marks history={value} />}
    </section>
  )
}

const KEY =
  'a short stroke is a dose, a longer one water topped up, ◇ a report, ◦ a sample, ✎ something done or said, ▲ an alarm, ■ a trip, ↻ a restart.'

interface TrendProps {
  readonly series: Series
  readonly history: History
}

function Trend({ series, history }: TrendProps): JSX.Element {
  const name = NAMES[series.series] ?? series.series
  const { from, to } = history
  const sentence = useMemo(
    () => (series.series === 'water-used' ? tellUsed(series, to - from) : tellCourse(name, series)),
    [name, series, from, to],
  )
  return (
    <figure>
      <h3>
        {name} {series.unit === '' ? '' : <span class="quiet">{series.unit}</span>}
      </h3>
      <TrendChart series={series} markers={history.markers} from={from} to={to} label={sentence} />
      <figcaption class="quiet">{sentence}</figcaption>
      <Unfolding summary={`${name} as a table`} tell={() => <SeriesTable series={series} history={history} />} />
    </figure>
  )
}

function SeriesTable({ series, history }: TrendProps): JSX.Element {
  const every = Math.max(1, Math.ceil(series.atMs.length / TABLE_ROWS))
  const rows = series.atMs
    .map((atMs, at) => ({ atMs, figures: [series.mean[at]!, series.low[at]!, series.high[at]!] }))
    .filter((_row, at) => at % every === 0)
  const figure = (title: string, at: number) => ({
    ...{ title, isNumber: true },
    tell: ({ figures }: (typeof rows)[number]) => tellNumber(figures[at]!),
  })
  return (
    <Table
      rows={rows}
      keyOf={({ atMs }) => String(atMs)}
      columns={[
        { title: 'Time', tell: ({ atMs }) => tellMoment(atMs, history.to) },
        ...['Mean', 'From', 'To'].map(figure),
      ]}
    />
  )
}

function tellCourse(name: string, { mean, unit, band }: Series): string {
  const first = mean[0]
  const last = mean.at(-1)
  if (first === undefined || last === undefined) return `Nothing is recorded of ${name} in this time.`
  const least = tellNumber(Math.min(...mean))
  const most = tellNumber(Math.max(...mean))
  const where = band === undefined ? '' : ` The band is ${tellNumber(band.low)} to ${tellNumber(band.high)}.`
  const ending = unit === '' ? '' : ` ${unit}`
  return `${name} went from ${tellNumber(first)} to ${tellNumber(last)}${ending}, between ${least} and ${most}.${where}`
}

/** Of a sum that only rises, the end and what a day takes say all. */
function tellUsed({ atMs, mean, unit }: Series, spanMs: number): string {
  const used = mean.at(-1)
  if (used === undefined) return 'No meter has counted make-up water in this time.'
  const days = Math.min(spanMs, atMs.at(-1)! - atMs[0]!) / DAY_MS
  const aDay = days < 1 ? '' : `, ${tellNumber(used / days)} ${unit} a day`
  return `${tellNumber(used)} ${unit} of make-up water in this time${aDay}.`
}

function Marks({ history }: { readonly history: History }): JSX.Element {
  const words = useWords()
  // what was done may be a note in somebody’s own words
  const tell = ({ kind, text }: Marker) => (kind === 'act' || kind === 'instruction' ? text : words(text))
  const told = history.markers.filter(({ kind }) => kind !== 'dose')
  return (
    <Unfolding
      summary={`What happened in this time (${told.length})`}
      tell={() => (
        <ul class="lines">
          {told.map((marker) => (
            <li key={`${marker.atMs} ${marker.kind} ${marker.text}`}>
              <time>{tellMoment(marker.atMs, history.to)}</time> {tell(marker)}
            </li>
          ))}
        </ul>
      )}
    />
  )
}
