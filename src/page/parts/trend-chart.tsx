import type { JSX } from 'preact'
import { useEffect, useRef } from 'preact/hooks'
import uPlot from 'uplot'
import type { Marker, Series } from '../../shell/api/schema/history.ts'
import { tellClock, tellDay } from '../data/moment.ts'

interface TrendChartProps {
  readonly series: Series
  readonly markers: readonly Marker[]
  readonly from: number
  readonly to: number
  /** the course in words, for whoever does not see the drawing */
  readonly label: string
}

/** In the letters of the page, which are larger on a screen that is looked at from afar. */
const HEIGHT_REM = 12.5
const FONT_REM = 0.75
/** Doses and top-ups are many: strokes along the foot, in CSS pixels. */
const STROKES_PX: Readonly<Partial<Record<Marker['kind'], number>>> = { dose: 5, 'top-up': 10 }
/** What is rare has a sign of its own, so that no colour is needed. */
const SIGNS: Readonly<Record<Exclude<Marker['kind'], 'dose' | 'top-up'>, string>> = {
  report: '◇',
  act: '✎',
  alarm: '▲',
  trip: '■',
  instruction: '✎',
  sample: '◦',
  restart: '↻',
}

/** Mean as a line, interval as a shade, band as two lines, what happened as letters along the foot. */
export function TrendChart(props: TrendChartProps): JSX.Element {
  const host = useRef<HTMLDivElement>(null)
  const { series, markers, from, to, label } = props
  useEffect(() => {
    const element = host.current
    if (element === null) return
    const chart = new uPlot(optionsOf(element, props), dataOf(series), element)
    const height = HEIGHT_REM * remPx()
    const observer = new ResizeObserver(() => chart.setSize({ width: element.clientWidth, height }))
    observer.observe(element)
    return () => {
      observer.disconnect()
      chart.destroy()
    }
  }, [series, markers, from, to])
  return <div class="chart" ref={host} role="img" aria-label={label} />
}

function dataOf({ atMs, mean, low, high }: Series): uPlot.AlignedData {
  return [atMs.map((at) => at / 1000), [...high], [...low], [...mean]]
}

function optionsOf(element: HTMLElement, { series, markers, from, to }: TrendChartProps): uPlot.Options {
  const style = getComputedStyle(element)
  const colour = (name: string): string => style.getPropertyValue(name).trim()
  const mark = colour('--mark')
  const bank = colour('--bank')
  const axis: uPlot.Axis = {
    stroke: colour('--quiet'),
    grid: { stroke: colour('--line'), width: 1 },
    font: `${FONT_REM * remPx()}px system-ui`,
  }
  return {
    width: element.clientWidth,
    height: HEIGHT_REM * remPx(),
    legend: { show: false },
    cursor: { drag: { x: false, y: false } },
    scales: {
      x: { min: from / 1000, max: to / 1000 },
      y: { range: (_plot, least, most) => rangeOf(series, least, most) },
    },
    axes: [
      { ...axis, space: 5.25 * remPx(), size: 3 * remPx(), values: (_plot, seconds) => seconds.map(tellTick) },
      { ...axis, size: 3.5 * remPx() },
    ],
    series: [
      {},
      { stroke: 'transparent', points: { show: false } },
      { stroke: 'transparent', points: { show: false } },
      line(mark),
    ],
    bands: [{ series: [1, 2], fill: colour('--water') }],
    hooks: {
      draw: [
        (plot) => {
          if (series.band !== undefined) for (const at of [series.band.low, series.band.high]) drawLevel(plot, at, bank)
          drawStrokes(plot, markers, bank)
          drawSigns(plot, markers, mark)
        },
      ],
    },
  }
}

function remPx(): number {
  return Number.parseFloat(getComputedStyle(document.documentElement).fontSize)
}

/** The day at its midnight, the clock between. */
function tellTick(atS: number): string {
  const at = new Date(atS * 1000)
  return at.getHours() === 0 && at.getMinutes() === 0 ? tellDay(atS * 1000) : tellClock(atS * 1000)
}

function line(stroke: string): uPlot.Series {
  return { stroke, width: 1.5, points: { show: false } }
}

/** The band is shown where it is near: a flat line in a wide band should not look like a storm, nor vanish. */
function rangeOf({ band }: Series, least: number, most: number): [number, number] {
  const low = Math.min(least, band?.low ?? least)
  const high = Math.max(most, band?.high ?? most)
  const margin = Math.max((high - low) * 0.12, Math.abs(high) * 0.01, 1e-6)
  return [low - margin, high + margin]
}

function drawLevel(plot: uPlot, value: number, stroke: string): void {
  const { ctx, bbox } = plot
  const y = plot.valToPos(value, 'y', true)
  ctx.save()
  ctx.strokeStyle = stroke
  ctx.setLineDash([6, 4])
  ctx.beginPath()
  ctx.moveTo(bbox.left, y)
  ctx.lineTo(bbox.left + bbox.width, y)
  ctx.stroke()
  ctx.restore()
}

/** A month has a thousand of them: nothing is set anew for each. */
function drawStrokes(plot: uPlot, markers: readonly Marker[], fill: string): void {
  const { ctx, bbox } = plot
  const foot = bbox.top + bbox.height
  ctx.save()
  ctx.fillStyle = fill
  for (const { atMs, kind } of markers) {
    const px = STROKES_PX[kind]
    const x = plot.valToPos(atMs / 1000, 'x', true)
    if (px === undefined || !isInside(plot, x)) continue
    const height = px * devicePixelRatio
    ctx.fillRect(Math.round(x), foot - height, devicePixelRatio, height)
  }
  ctx.restore()
}

function drawSigns(plot: uPlot, markers: readonly Marker[], fill: string): void {
  const { ctx, bbox } = plot
  const baseline = bbox.top + bbox.height - 14 * devicePixelRatio
  ctx.save()
  ctx.fillStyle = fill
  ctx.font = `${0.8 * remPx() * devicePixelRatio}px system-ui`
  ctx.textAlign = 'center'
  for (const { atMs, kind } of markers) {
    if (kind === 'dose' || kind === 'top-up') continue
    const x = plot.valToPos(atMs / 1000, 'x', true)
    if (isInside(plot, x)) ctx.fillText(SIGNS[kind], x, baseline)
  }
  ctx.restore()
}

function isInside({ bbox }: uPlot, x: number): boolean {
  return x >= bbox.left && x <= bbox.left + bbox.width
}
