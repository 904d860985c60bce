/** Whether a bottle filled now would tell of the whole reservoir. */

import type { SampleMoment } from '../schema/laboratory.ts'
import type { Site } from '../site.ts'

type Check = SampleMoment['checks'][number] & { readonly goodAtMs?: number }

/** Mixed, circulating, not just topped up, nothing under way. */
export async function momentView(site: Site): Promise<SampleMoment> {
  const nowMs = site.nowMs()
  const { mixingMs } = site.settings.core.reservoir
  const settled = await site.records(['settled', 'observed'], {
    fromMs: nowMs - 4 * mixingMs - HOUR_MS,
    untilMs: nowMs,
  })
  const dosedMs = settled.findLast((record) => record.kind === 'settled' && record.delivered.highUl > 0)?.atMs
  const filledMs = settled.findLast(
    (record) => record.kind === 'observed' && (record.observation.topUpL ?? 0) > 0,
  )?.atMs
  const checks: Check[] = [
    circulating(site, nowMs),
    restedSince('mixed', 'the last dose', dosedMs, { nowMs, waitMs: mixingMs }),
    restedSince('not just topped up', 'make-up water came', filledMs, { nowMs, waitMs: mixingMs }),
    {
      check: 'no shot under way',
      ok: site.state().safety.book.commands.length === 0,
      text: site.state().safety.book.commands.length === 0 ? 'no pump is at work' : 'a shot is under way',
    },
  ]
  const bad = checks.filter(({ ok }) => !ok)
  const goodAtMs = Math.max(...bad.map((one) => one.goodAtMs ?? Number.NaN))
  return {
    isGood: bad.length === 0,
    text:
      bad.length === 0
        ? 'Now is a good moment: mixed, circulating, nothing under way. Fill the bottle from the return, rinse it first.'
        : `Better wait: ${bad.map(({ text }) => text).join('; ')}.`,
    checks: checks.map(({ check, ok, text }) => ({ check, ok, text })),
    ...(Number.isFinite(goodAtMs) ? { goodAtMs } : {}),
  }
}

const HOUR_MS = 3_600_000

function circulating(site: Site, nowMs: number): Check {
  const probe = site.configuration.site.probes.find(({ role }) => role === 'flow')
  if (!probe) return { check: 'circulating', ok: true, text: 'no flow probe is fitted: see that the pump runs' }
  const reading = site.state().safety.readings[probe.id]
  const isFresh = reading !== undefined && (nowMs - reading.atMs) / 1000 <= site.configuration.limits.probes.scanAgeMaxS
  const ok = isFresh && reading.flowingSinceMs !== null
  return {
    check: 'circulating',
    ok,
    text: ok ? 'the circulation runs' : 'the circulation does not run, or nothing tells',
  }
}

function restedSince(
  check: string,
  what: string,
  sinceMs: number | undefined,
  { nowMs, waitMs }: { readonly nowMs: number; readonly waitMs: number },
): Check {
  const restedMs = sinceMs === undefined ? Number.POSITIVE_INFINITY : nowMs - sinceMs
  if (restedMs >= waitMs) return { check, ok: true, text: `${what} is long enough ago` }
  const minutes = Math.ceil((waitMs - restedMs) / 60_000)
  return { check, ok: false, text: `${what} is too near, ${minutes} min to go`, goodAtMs: nowMs + waitMs - restedMs }
}
