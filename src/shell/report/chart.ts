/** One element over the period as an inline drawing: its band, the estimate with its interval, laboratory values. */

import { html, Markup } from './html.ts'

export interface ChartPoint {
  readonly atMs: number
  readonly mean: number
  readonly low: number
  readonly high: number
}

export interface Chart {
  readonly title: string
  readonly fromMs: number
  readonly untilMs: number
  readonly band: { readonly low: number; readonly aim: number; readonly high: number }
  readonly points: readonly ChartPoint[]
  readonly laboratory: readonly { readonly atMs: number; readonly value: number }[]
}

const WIDTH = 640
const HEIGHT = 150
const LEFT = 46
const BOTTOM = 18

/** Told beside it in words, so that a reader who sees no drawing misses nothing. */
export function chart({ title, fromMs, untilMs, band, points, laboratory }: Chart): Markup {
  const values = [
    band.low,
    band.high,
    ...points.flatMap(({ low, high }) => [low, high]),
    ...laboratory.map(({ value }) => value),
  ]
  const most = Math.max(...values) * 1.05 || 1
  const least = Math.min(...values) * 0.95
  const x = (atMs: number) => round(LEFT + ((atMs - fromMs) / (untilMs - fromMs)) * (WIDTH - LEFT - 6))
  const y = (value: number) => round(6 + (1 - (value - least) / (most - least)) * (HEIGHT - BOTTOM - 6))
  const across = (value: number, name: string) =>
    html`<line class="${name}" x1="${LEFT}" x2="${WIDTH - 6}" y1="${y(value)}" y2="${y(value)}"/><text x="${LEFT - 5}" y="${y(value) + 4}" text-anchor="end">${figure(value)}</text>`
  const there = points.map(({ atMs, mean }) => `${x(atMs)},${y(mean)}`).join(' ')
  const up = points.map(({ atMs, high }) => `${x(atMs)},${y(high)}`)
  const down = points.toReversed().map(({ atMs, low }) => `${x(atMs)},${y(low)}`)
  const dots = laboratory.map(({ atMs, value }) => {
    const [cx, cy] = [x(atMs), y(value)]
    return html`<path class="lab" d="M${cx} ${cy - 4}l4 4l-4 4l-4 -4z"/>`
  })
  return html`<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${title}"><rect class="band" x="${LEFT}" width="${WIDTH - LEFT - 6}" y="${y(band.high)}" height="${round(y(band.low) - y(band.high))}"/>${across(band.low, 'edge')}${across(band.high, 'edge')}${new Markup(`<polygon class="doubt" points="${[...up, ...down].join(' ')}"/><polyline class="mean" points="${there}"/>`)}${dots}<text x="${LEFT}" y="${HEIGHT - 3}">${dayOf(fromMs)}</text><text x="${WIDTH - 6}" y="${HEIGHT - 3}" text-anchor="end">${dayOf(untilMs)}</text></svg>`
}

/** Three figures that mean something, and no more. */
export function figure(value: number): string {
  const size = Math.abs(value)
  if (size < 0.0005) return '0'
  return size >= 100
    ? value.toFixed(0)
    : size >= 10
      ? value.toFixed(1)
      : size >= 1
        ? value.toFixed(2)
        : value.toFixed(3)
}

function dayOf(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 10)
}

function round(pixels: number): number {
  return Math.round(pixels * 10) / 10
}
