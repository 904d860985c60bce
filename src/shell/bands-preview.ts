/** How the bands might have gone under other limits, by a model with its interval; see reservoir/band-model. */

import { ELEMENTS } from '../chemistry/element.ts'
import {
  ALL_SIX,
  type BandShares,
  bandShareOf,
  type ModelRun,
  runModel,
  withoutBottles,
} from '../reservoir/band-model.ts'
import { settingsInForce } from '../reservoir/limit-change.ts'
import { recordedHours } from '../reservoir/recorded-hours.ts'
import type { LimitsPreview } from './api/schema/limits.ts'
import type { Period, Site } from './api/site.ts'
import { asChanges } from './gate-preview.ts'
import type { Slices } from './slices.ts'

type Bands = NonNullable<LimitsPreview['bands']>

const DAY_MS = 86_400_000

/** Undefined where no belief of the period is kept. */
export async function previewBands(
  site: Site,
  period: Period,
  values: Readonly<Record<string, number>>,
  slices: Slices,
): Promise<Bands | undefined> {
  const { core, changedLimits } = site.state()
  const stretches = core?.history.stretches.filter(({ start }) => start.atMs >= period.fromMs) ?? []
  const first = stretches[0]
  if (!core || !first || core.history.filter.atMs - first.start.atMs < DAY_MS) return undefined
  const untilMs = Math.min(period.untilMs, core.history.filter.atMs)
  const was = withoutBottles(site.settings)
  const wouldBe = withoutBottles(settingsInForce(site.statedSettings, { ...changedLimits, ...asChanges(values) }))
  const hours = await finished(recordedHours(was, core, stretches, untilMs), slices)
  const run = (settings: ModelRun['settings']) => finished(runModel({ settings, core, stretches, hours }), slices)
  return bandsOf({ was: await run(was), wouldBe: await run(wouldBe) }, (untilMs - first.start.atMs) / DAY_MS)
}

async function finished<Result>(run: Generator<undefined, Result>, slices: Slices): Promise<Result> {
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

function bandsOf({ was, wouldBe }: Middle, days: number): Bands {
  const shareAt = (at: number) => {
    const { share: inBandWouldBe, low90, high90 } = bandShareOf(wouldBe, at)
    return { inBandWas: bandShareOf(was, at).share, inBandWouldBe, low90, high90 }
  }
  const elements = ELEMENTS.map((element, at) => ({ element, ...shareAt(at) }))
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
    `${found} A model over the last ${days.toFixed(0)} days on the balance this site has learned, in hourly steps; probes ` +
    'read true, nodes obey, bottles never run out, and the mode is automatic throughout. Both columns are the model’s. The ' +
    'interval says what the doubt about each level makes of it: wide where an element is kept along the edge of its band.'
  return { elements, allSix: shareAt(ALL_SIX), waterL: { was: was.makeUpL, wouldBe: wouldBe.makeUpL }, text }
}

/** A share that nobody would see on a chart. */
const NOTICED = 0.01
