/** `tarnward status`: the daemon’s own sentence, readings, elements and next doses. */

import type { Doses } from '../shell/api/schema/dose.ts'
import type { AlarmView, EstimateView, StatusView } from '../shell/daemon-view.ts'
import { askDaemon } from './daemon-http.ts'

/** Prints it; ends with 1 while an alarm or a trip stands. @throws CommandFailure where no daemon answers */
export async function status(options: { readonly url: string; readonly json?: boolean }): Promise<void> {
  const current = (await askDaemon(options.url, '/api/status')).body as StatusView
  const answer = await askDaemon(options.url, '/api/estimate')
  const estimate = answer.status === 200 ? (answer.body as EstimateView) : undefined
  const doses = await askDaemon(options.url, '/api/doses?limit=1')
  const refusals = doses.status === 200 ? (doses.body as Doses).refusals : []
  if (options.json) process.stdout.write(`${JSON.stringify({ ...current, estimate, refusals })}\n`)
  else process.stdout.write([...page(current, estimate), ...refusalLines(refusals), ''].join('\n'))
  const waiting = current.alarms.filter(({ state }) => state !== 'shelved')
  if (waiting.length > 0 || current.trips.length > 0) process.exitCode = 1
}

function page(current: StatusView, estimate: EstimateView | undefined): readonly string[] {
  const readings = current.readings.map(({ quantity, value, unit, abnormal }) => {
    const shown = `${LABELS[quantity]} ${value?.toFixed(DIGITS[quantity]) ?? '–'} ${unit}`.trimEnd()
    return abnormal ? `${shown} (${abnormal})` : shown
  })
  const doses = current.nextDoses.map(({ stock, volumeMl, atMs, reason }) => {
    const when = atMs === undefined ? '' : ` at ${clockTime(Math.max(atMs, current.atMs))}`
    return `  ${volumeMl.toFixed(1)} mL of ${stock}${when}: ${reason}`
  })
  return [
    `${current.reservoir}, ${new Date(current.atMs).toISOString().slice(0, 10)} ${clockTime(current.atMs)} UTC, mode ${current.mode}${current.held ? ', on hold' : ''}`,
    current.sentence,
    ...(current.standstill && !current.sentence.includes(current.standstill.text) ? [current.standstill.text] : []),
    readings.join(' · '),
    '',
    ...elementRows(estimate),
    ...(doses.length > 0 ? ['', current.mode === 'automatic' ? 'Next:' : 'Would be next:', ...doses] : []),
    ...(current.alarms.length > 0 ? ['', 'Alarms:'] : []),
    ...current.alarms.flatMap(alarmLines),
    ...current.trips.map(({ trip, why }) => `Tripped, ${trip}: ${why}`),
    ...(current.notes.length > 0 ? ['', 'Of the plans:'] : []),
    ...current.notes.map(({ text, sinceMs }) => `  ${text} (since ${dayTime(sinceMs, current.atMs)})`),
  ]
}

/** What the gate refused within a day, once for each stock and interlock. */
export function refusalLines(refusals: Doses['refusals']): string[] {
  if (refusals.length === 0) return []
  const lines = refusals.map(({ stock, interlock, rule, found, count, lastAtMs }) => {
    const often = count === 1 ? 'once' : `${count} times`
    return `  ${stock}, ${interlock}, ${often}, last at ${clockTime(lastAtMs)}: ${found ?? rule}`
  })
  return ['', 'Refused within a day:', ...lines]
}

/** The time of day; with the day where it is another one. */
function dayTime(atMs: number, nowMs: number): string {
  const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10)
  return day(atMs) === day(nowMs) ? clockTime(atMs) : `${day(atMs)} ${clockTime(atMs)}`
}

function alarmLines({ alarm, priority, state, text, by, untilMs, consequences }: AlarmView): string[] {
  const until = untilMs === undefined ? '' : ` until ${clockTime(untilMs)}`
  const how = `${state}${by === undefined ? '' : ` by ${by}`}${until}`
  return [
    `  ${alarm} (${priority}, ${how}): ${text}`,
    ...(consequences.length > 0 ? [`    follows from it: ${consequences.join(', ')}`] : []),
  ]
}

const LABELS = { conductivity: 'EC', ph: 'pH', level: 'level', temperature: 'water' } as const
const DIGITS = { conductivity: 2, ph: 2, level: 0, temperature: 1 } as const

function clockTime(atMs: number): string {
  return new Date(atMs).toISOString().slice(11, 16)
}

function elementRows(estimate: EstimateView | undefined): string[] {
  if (!estimate) return ['No estimate yet.']
  const rows = Object.entries(estimate.elements).map(([name, { mgPerL, sdMgPerL, band }]) => {
    const digits = mgPerL >= 10 ? 0 : mgPerL >= 1 ? 1 : 3
    const value = `${mgPerL.toFixed(digits)} ± ${sdMgPerL.toFixed(digits)}`.padStart(15)
    if (!band) return `${name.padEnd(6)} ${value} mg/L`
    const place = mgPerL < band.lowMgPerL ? 'LOW' : mgPerL > band.highMgPerL ? 'HIGH' : ''
    return `${name.padEnd(6)} ${value} mg/L   band ${trim(band.lowMgPerL)} to ${trim(band.highMgPerL)}, aim ${trim(band.aimMgPerL)} ${place}`.trimEnd()
  })
  return rows
}

function trim(mgPerL: number): string {
  return mgPerL >= 10 ? mgPerL.toFixed(0) : String(Number(mgPerL.toPrecision(2)))
}
