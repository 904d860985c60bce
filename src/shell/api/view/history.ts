/** Series thinned to what a chart can show, with what happened in them. */

import { isElementName } from '../../../chemistry/element.ts'
import type { Estimate } from '../../../core/estimate/summary.ts'
import { benchBands } from '../../../core/plan/bands.ts'
import type { FusedObservation } from '../../../reservoir/record.ts'
import type { Slices } from '../../slices.ts'
import type { History, Series } from '../schema/history.ts'
import type { Site } from '../site.ts'
import { beliefsBetween, SDS_90 } from './belief.ts'
import { markersOf } from './marker.ts'
import { bandOf } from './now.ts'

export interface HistoryWish {
  readonly from: number
  readonly to: number
  readonly series: readonly string[]
  readonly points: number
}

const MEASURED: Readonly<Record<string, { readonly field: keyof FusedObservation; readonly unit: string }>> = {
  conductivity: { field: 'conductivityDsPerM', unit: 'mS/cm' },
  ph: { field: 'ph', unit: '' },
  temperature: { field: 'temperatureC', unit: '°C' },
  level: { field: 'levelL', unit: 'L' },
  'top-up': { field: 'topUpL', unit: 'L' },
}

/** Make-up water by its meter, summed from the beginning of the period. */
const WATER_USED = 'water-used'

/** Names that no series has; empty where all are known. */
export function unknownSeries(names: readonly string[]): readonly string[] {
  return names.filter((name) => !(name in MEASURED) && !NAMED.includes(name) && !isElementName(name))
}

const NAMED: readonly string[] = [WATER_USED, 'volume']
export const SERIES_ALLOWED = [...Object.keys(MEASURED), ...NAMED, 'an element such as K'].join(', ')

export async function historyView(site: Site, wish: HistoryWish, slices: Slices): Promise<History> {
  const period = { fromMs: wish.from, untilMs: wish.to }
  const observed = await site.records(['observed'], period)
  const { core } = site.state()
  const isBelieved = wish.series.some((name) => name === 'volume' || isElementName(name))
  const beliefs = core && isBelieved ? await beliefsBetween(site, core, period, slices) : []
  const intervalMs = Math.max(60_000, Math.ceil((wish.to - wish.from) / wish.points))
  const observations = observed.map(({ observation }) => observation)
  return {
    ...{ from: wish.from, to: wish.to, intervalMs },
    series: wish.series.map((name) => seriesOf(site, name, { wish, intervalMs, observations, beliefs })),
    markers: await markersOf(site, period, intervalMs, observed),
    isComplete: true,
  }
}

interface Material {
  readonly wish: HistoryWish
  readonly intervalMs: number
  readonly observations: readonly FusedObservation[]
  readonly beliefs: readonly Estimate[]
}

interface Point {
  readonly atMs: number
  readonly mean: number
  readonly low: number
  readonly high: number
}

function seriesOf(site: Site, series: string, material: Material): Series {
  const measured = MEASURED[series]
  if (measured) {
    const points = material.observations.flatMap((observation): Point[] => {
      const value = observation[measured.field]
      return typeof value === 'number' ? [{ atMs: observation.endMs, mean: value, low: value, high: value }] : []
    })
    return { series, unit: measured.unit, ...thinned(points, material) }
  }
  if (series === WATER_USED) return { series, unit: 'L', ...thinned(waterUsed(material), material) }
  const points = material.beliefs.map((belief): Point => {
    const isVolume = !isElementName(series)
    const mean = isVolume ? belief.volumeL : belief.elements[series].mgPerL
    const sd = isVolume ? belief.sdVolumeL : belief.elements[series].sdMgPerL
    return { atMs: belief.atMs, mean, low: Math.max(0, mean - SDS_90 * sd), high: mean + SDS_90 * sd }
  })
  return { series, unit: series === 'volume' ? 'L' : 'mg/L', ...thinned(points, material), ...bandNow(site, series) }
}

/** Rising all the time; nothing where no meter counts the water. */
function waterUsed({ wish, observations }: Material): readonly Point[] {
  let usedL = 0
  const points = observations.flatMap(({ endMs, topUpL }): Point[] => {
    if (topUpL === undefined) return []
    usedL += topUpL
    return [{ atMs: endMs, mean: usedL, low: usedL, high: usedL }]
  })
  return points.length === 0 ? [] : [{ atMs: wish.from, mean: 0, low: 0, high: 0 }, ...points]
}

function bandNow(site: Site, series: string): Pick<Series, 'band'> {
  const { core } = site.state()
  if (!core || !isElementName(series)) return {}
  const band = bandOf(benchBands(site.settings.core, core.cohorts, site.nowMs()), series)
  return { band: { low: band.lowMgPerL, aim: band.aimMgPerL, high: band.highMgPerL } }
}

/** One point an interval: the mean of its means, the least low and the greatest high. */
function thinned(points: readonly Point[], { wish, intervalMs }: Material): Omit<Series, 'series' | 'unit' | 'band'> {
  const out = { atMs: [] as number[], mean: [] as number[], low: [] as number[], high: [] as number[] }
  for (let at = 0; at < points.length; ) {
    const bucket = Math.floor((points[at]!.atMs - wish.from) / intervalMs)
    const begin = at
    let sum = 0
    let low = Number.POSITIVE_INFINITY
    let high = Number.NEGATIVE_INFINITY
    for (; at < points.length && Math.floor((points[at]!.atMs - wish.from) / intervalMs) === bucket; at++) {
      sum += points[at]!.mean
      low = Math.min(low, points[at]!.low)
      high = Math.max(high, points[at]!.high)
    }
    out.atMs.push(Math.round((points[begin]!.atMs + points[at - 1]!.atMs) / 2))
    out.mean.push(shown(sum / (at - begin)))
    out.low.push(shown(low))
    out.high.push(shown(high))
  }
  return out
}

/** Six figures are more than any probe has, and half the bytes. */
function shown(value: number): number {
  return Number(value.toPrecision(6))
}
