/** How the bands might have gone under other limits, by a model with its interval; see reservoir/band-model. */

import { ELEMENTS } from '../chemistry/element.ts'
import { type BandShares, type ModelRun, runModel, withoutBottles } from '../reservoir/band-model.ts'
import { settingsInForce } from '../reservoir/limit-change.ts'
import type { LimitsPreview } from './api/schema/limits.ts'
import type { Period, Site } from './api/site.ts'
import { asChanges } from './gate-preview.ts'
import type { Slices } from './slices.ts'

type Bands = NonNullable<LimitsPreview['bands']>

const DRAWS = 8
/** A person waits for this; with what it allows of draws the interval is told. Chosen. */
const BUDGET_MS = 30_000
/** 90 % of a normal spread. */
const SDS_90 = 1.645
const DAY_MS = 86_400_000

/** Undefined where no belief of the period is kept. */
export async function previewBands(
  site: Site,
  period: Period,
  values: Readonly<Record<string, number>>,
  slices: Slices,
  monoMs: () => number,
): Promise<Bands | undefined> {
  const { core, changedLimits } = site.state()
  const stretches = core?.history.stretches.filter(({ start }) => start.atMs >= period.fromMs) ?? []
  const first = stretches[0]
  if (!core || !first || core.history.filter.atMs - first.start.atMs < DAY_MS) return undefined
  const untilMs = Math.min(period.untilMs, core.history.filter.atMs)
  const was = withoutBottles(site.settings)
  const wouldBe = withoutBottles(settingsInForce(site.statedSettings, { ...changedLimits, ...asChanges(values) }))
  const beganMs = monoMs()
  const run = (settings: ModelRun['settings'], offset?: Float64Array) =>
    finished(runModel({ settings, core, stretches, untilMs, ...(offset ? { offset } : {}) }), slices)
  const middle = { was: await run(was), wouldBe: await run(wouldBe) }
  const drawn: BandShares[] = []
  for (let draw = 0; draw < DRAWS && monoMs() - beganMs < BUDGET_MS; draw++)
    drawn.push(await run(wouldBe, offsetOf(first.start.covariance, first.start.mean.length, draw)))
  return bandsOf(middle, drawn, (untilMs - first.start.atMs) / DAY_MS)
}

async function finished(run: Generator<undefined, BandShares>, slices: Slices): Promise<BandShares> {
  for (;;) {
    const { done, value } = run.next()
    if (done) return value
    await slices.next()
  }
}

interface Middle {
  readonly was: BandShares
  readonly wouldBe: BandShares
}

function bandsOf({ was, wouldBe }: Middle, drawn: readonly BandShares[], days: number): Bands {
  const elements = ELEMENTS.map((element, at) => {
    const share = (one: BandShares) => one.inside[at]! / one.hours
    const inBandWouldBe = share(wouldBe)
    const spread = Math.sqrt(
      drawn.reduce((sum, one) => sum + (share(one) - inBandWouldBe) ** 2, 0) / Math.max(1, drawn.length),
    )
    const low90 = Math.max(0, inBandWouldBe - SDS_90 * spread)
    const high90 = Math.min(1, inBandWouldBe + SDS_90 * spread)
    return { element, inBandWas: share(was), inBandWouldBe, low90, high90 }
  })
  const worse = elements.filter(({ inBandWas, inBandWouldBe }) => inBandWouldBe < inBandWas - NOTICED)
  const better = elements.filter(({ inBandWas, inBandWouldBe }) => inBandWouldBe > inBandWas + NOTICED)
  const names = (list: typeof elements) => list.map(({ element }) => element).join(', ')
  const found =
    worse.length + better.length === 0
      ? 'No element would have been in its band noticeably more or less.'
      : [
          ...(worse.length > 0 ? [`Less in band: ${names(worse)}.`] : []),
          ...(better.length > 0 ? [`More in band: ${names(better)}.`] : []),
        ].join(' ')
  const text =
    `${found} A model over the last ${days.toFixed(0)} days on the balance this site has learned, in hourly steps, with ` +
    `${drawn.length} draws of its doubt for the interval; probes read true, nodes obey, bottles never run out, and the ` +
    'mode is automatic throughout. Both columns are the model’s; an element kept along the edge of its band may come out wrong.'
  return { elements, waterL: { was: was.makeUpL, wouldBe: wouldBe.makeUpL }, text }
}

/** A share that nobody would see on a chart. */
const NOTICED = 0.01

/** One draw of the first belief’s doubt, the same ones every time so that two previews can be compared. */
function offsetOf(covariance: Float64Array, n: number, draw: number): Float64Array {
  const lower = choleskyOf(covariance, n)
  const normals = Float64Array.from({ length: n }, (_none, at) => normalOf(draw * n + at))
  return Float64Array.from({ length: n }, (_none, row) => {
    let sum = 0
    for (let column = 0; column <= row; column++) sum += lower[row * n + column]! * normals[column]!
    return sum
  })
}

/** Lower triangle L with L·Lᵀ the covariance; a direction without doubt of its own stays without. */
function choleskyOf(covariance: Float64Array, n: number): Float64Array {
  const lower = new Float64Array(n * n)
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = covariance[row * n + column]!
      for (let at = 0; at < column; at++) sum -= lower[row * n + at]! * lower[column * n + at]!
      const pivot = lower[column * n + column]!
      lower[row * n + column] = row === column ? Math.sqrt(Math.max(0, sum)) : pivot > 0 ? sum / pivot : 0
    }
  }
  return lower
}

/** Standard normal numbers by place in a sequence: Box and Muller (1958) over a multiplicative hash. */
function normalOf(place: number): number {
  const uniform = (seed: number) => (Math.imul(seed + 1, 0x9e3779b1) >>> 0) / 2 ** 32
  const mixed = (seed: number) => uniform(Math.floor(uniform(seed) * 2 ** 31) ^ seed)
  return Math.sqrt(-2 * Math.log(Math.max(1e-12, mixed(2 * place)))) * Math.cos(2 * Math.PI * mixed(2 * place + 1))
}
