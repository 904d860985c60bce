/** A period as one HTML file that needs nothing else: no script, no font, no request; it prints as it reads. */

import { chart, figure } from './chart.ts'
import type { Compared, ElementFacts, ReportFacts, Said } from './facts.ts'
import { html, Markup, table } from './html.ts'
import type { ByCalendar, Use } from './use.ts'

/** The file’s text. Everything in it that came from people, files or nodes is escaped. */
export function reportHtml(facts: ReportFacts): string {
  const { site, fromMs, untilMs, zone } = facts
  const title = `${site}, ${day(fromMs)} to ${day(untilMs)}`
  return html`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title><style>${new Markup(STYLE)}</style></head><body>
<header><h1>${site}</h1><p>${day(fromMs)} to ${day(untilMs)}. Times are UTC; the site keeps the time of ${zone}.</p></header>
<main>
${summary(facts)}
${bands(facts)}
${used(facts)}
${beside(facts)}
${alarms(facts)}
${laboratory(facts)}
${people(facts)}
</main>
<footer><p>Written ${moment(facts.writtenAtMs)} by Tarnward ${facts.version} from its own ledger. What is believed between laboratory samples is an estimate; its interval holds the truth nine times in ten. Discharge of nutrient water and the handling of acids and concentrates follow local codes and the labels of what was used.</p></footer>
</body></html>
`.text
}

function summary({ elements, use, alarms: raised, refused, currency }: ReportFacts): Markup {
  const shots = use.stocks.reduce((sum, stock) => sum + stock.shots, 0)
  const known = elements.filter(({ inBand }) => inBand !== undefined)
  const outside = known
    .filter(({ inBand }) => inBand! < 0.95)
    .map(({ element, inBand }) => `${element} ${share(inBand!)}`)
  const bandsText =
    known.length === 0
      ? 'No estimate is kept of this time.'
      : outside.length === 0
        ? 'Every element is believed to have been inside its band at least 95 % of the time.'
        : `Time inside the band was below 95 % for ${outside.join(', ')}; every other element was inside it longer.`
  const count = raised.filter(({ state }) => state === 'unacknowledged').length
  const cost = use.cost === undefined ? '' : ` Salts, acid and water cost ${use.cost.toFixed(2)} ${currency ?? ''}.`
  return html`<section><h2>In short</h2><p>${bandsText} ${shots} shots went in, the interlocks refused ${refused}; ${figure(use.makeUpL)} L of water were added and ${figure(use.dischargedL)} L let go in ${use.changes} renewals. ${count} alarms were raised.${cost}</p></section>`
}

function bands({ elements, fromMs, untilMs }: ReportFacts): Markup {
  const figures = elements.map(
    (one) =>
      html`<figure><figcaption><strong>${one.element}</strong> ${bandText(one)}</figcaption>${one.points.length < 2 ? '' : chart({ title: `${one.element}: ${bandText(one)}`, fromMs, untilMs, ...one })}</figure>\n`,
  )
  return html`<section><h2>Elements and their bands</h2><p>In mg/L of the element, nitrogen as N. The grey field is the target band, the line the estimate with its 90 % interval, diamonds are laboratory values.</p>${figures}</section>`
}

function bandText({ band, points, laboratory: values, inBand }: ElementFacts): string {
  const edges = `band ${figure(band.low)} to ${figure(band.high)}, aim ${figure(band.aim)}`
  const [first, last] = [points[0], points.at(-1)]
  if (!first || !last) return `${edges}; no estimate is kept of this time.`
  const means = points.map(({ mean }) => mean)
  const samples =
    values.length === 0 ? 'no laboratory value' : `laboratory ${values.map(({ value }) => figure(value)).join(', ')}`
  return `${edges}; believed ${figure(first.mean)} at first and ${figure(last.mean)} (${figure(last.low)} to ${figure(last.high)}) at last, between ${figure(Math.min(...means))} and ${figure(Math.max(...means))}, in band ${share(inBand ?? 0)} of the time; ${samples}.`
}

function used({ use }: ReportFacts): Markup {
  const doses = use.stocks.map(({ stock, shots, lowMl, highMl }) => [stock, shots, lowMl.toFixed(1), highMl.toFixed(1)])
  const salts = use.stocks.flatMap(({ stock, salts: mixed }) =>
    mixed.map(({ name, massG }) => [name, `in ${stock}`, massG.toFixed(1)]),
  )
  const hand = use.byHand.map(({ name, massG }) => [name, 'weighed in by hand', massG.toFixed(1)])
  return html`<section><h2>What was used</h2>
<p>${figure(use.makeUpL)} L of make-up water, ${figure(use.dischargedL)} L of solution let go, ${figure(use.elementsG)} g of nutrient elements from the stocks.</p>
${table('Doses by stock', ['Stock', 'Shots', 'mL at least', 'mL at most'], doses, 'No stock was dosed.')}
${table('Salts and reagents', ['Name', 'How', 'g'], [...salts, ...hand], 'No salt was used.')}</section>`
}

function beside({ use, byCalendar, currency }: ReportFacts): Markup {
  const { everyDays } = byCalendar
  const row = (name: string, pick: (one: Use | ByCalendar) => number | undefined) => {
    const [here, there] = [pick(use), pick(byCalendar)]
    return here === undefined || there === undefined ? [] : [[name, here.toFixed(1), there.toFixed(1)]]
  }
  const rows = [
    ...row('Water added, L', ({ makeUpL }) => makeUpL),
    ...row('Solution let go, L', ({ dischargedL }) => dischargedL),
    ...row('Nutrient elements, g', ({ elementsG }) => elementsG),
    ...row(`Cost, ${currency ?? ''}`, ({ cost }) => cost),
  ]
  const missing =
    use.cost !== undefined
      ? ''
      : use.withoutPrice.length > 0
        ? ` No cost is told: the site file has no price of ${use.withoutPrice.join(', ')}.`
        : ' No cost is told: the site file states no prices.'
  return html`<section><h2>Beside a change every ${everyDays} days</h2>
<p>The same crop with the whole reservoir let go and filled anew every ${everyDays} days, counted over this period by the day: it takes the same water and elements, and each change throws away a fill of the recipe.${missing}</p>
${table('Use', ['', 'This period', `Change every ${everyDays} days`], rows, '')}</section>`
}

function alarms({ alarms: told, trips }: ReportFacts): Markup {
  const rows = told.map(({ atMs, state, text, by }) => [moment(atMs), STATE_WORDS[state] ?? state, text, by])
  const latched = trips.map(({ atMs, text }) => [moment(atMs), text])
  return html`<section><h2>Alarms</h2>${table('Alarms as they came and went', ['When', 'State', 'What', 'Who'], rows, 'No alarm was raised.')}
${table('Interlocks that tripped', ['When', 'What'], latched, 'No interlock tripped.')}</section>`
}

const STATE_WORDS: Readonly<Record<string, string>> = {
  unacknowledged: 'raised',
  returned: 'gone before it was seen',
  latched: 'gone, to be looked at',
  normal: 'over',
}

function laboratory({ compared }: ReportFacts): Markup {
  const rows = compared.map((one) => [
    one.report,
    moment(one.sampledAtMs),
    one.element,
    `${one.isBelow ? 'below ' : ''}${figure(one.reportedMgPerL)}`,
    one.believedMgPerL === undefined ? 'not kept' : `${figure(one.believedMgPerL)} ± ${figure(one.sdMgPerL ?? 0)}`,
    differenceText(one),
  ])
  return html`<section><h2>Laboratory against estimate</h2><p>What was believed at the moment of sampling without the report, mg/L with one standard deviation.</p>
${table('Reports', ['Report', 'Sampled', 'Element', 'Reported', 'Believed', 'Difference'], rows, 'No report came in this time.')}</section>`
}

function differenceText({ reportedMgPerL, believedMgPerL, isBelow }: Compared): string {
  if (believedMgPerL === undefined || isBelow || reportedMgPerL === 0) return ''
  const percent = ((believedMgPerL - reportedMgPerL) / reportedMgPerL) * 100
  return `${percent >= 0 ? '+' : '−'}${Math.abs(percent).toFixed(0)} %`
}

function people({ said, limits, batches }: ReportFacts): Markup {
  const rows = (list: readonly Said[]) => list.map(({ atMs, by, text, reason }) => [moment(atMs), by, text, reason])
  const heads = ['When', 'Who', 'What', 'Why']
  return html`<section><h2>For an audit</h2>
${table('Batches', heads, rows(batches), 'No bottle was refilled.')}
${table('Limits changed', heads, rows(limits), 'No limit was changed.')}
${table('Acts and instructions', heads, rows(said), 'Nobody did or said anything.')}</section>`
}

function day(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 10)
}

function moment(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 16).replace('T', ' ')
}

function share(part: number): string {
  return `${(part * 100).toFixed(0)} %`
}

const STYLE = `
:root{color-scheme:light}
body{font:15px/1.45 system-ui,sans-serif;color:#1d1f21;background:#fff;margin:0 auto;max-width:56rem;padding:1rem}
h1{font-size:1.6rem;margin:0}h2{font-size:1.15rem;margin:2rem 0 .5rem;border-top:1px solid #c9c9c9;padding-top:.75rem}
figure{margin:0 0 1rem;break-inside:avoid}figcaption{font-size:.9rem}
svg{width:100%;height:auto;font:11px system-ui,sans-serif;fill:#444}
.band{fill:#ececec}.edge{stroke:#9a9a9a;stroke-dasharray:4 3}.doubt{fill:#7d8a96;fill-opacity:.3}
.mean{fill:none;stroke:#2b3a48;stroke-width:1.6}.lab{fill:#fff;stroke:#000;stroke-width:1.4}
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;margin:.5rem 0 1rem}
caption{text-align:left;font-weight:600;padding:.25rem 0}
th,td{text-align:left;vertical-align:top;padding:.2rem .6rem .2rem 0;border-bottom:1px solid #e2e2e2;font-weight:400;overflow-wrap:anywhere}
thead th{font-weight:600;overflow-wrap:normal}tbody th{white-space:nowrap}tr{break-inside:avoid}footer{color:#555;font-size:.85rem;margin-top:2rem}
@media print{body{max-width:none;padding:0;font-size:10pt}h2,caption{break-after:avoid}}
`
