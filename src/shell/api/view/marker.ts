/** What happened, as marks beside a chart. */

import type { LedgerRecord } from '../../../reservoir/record.ts'
import type { Marker } from '../schema/history.ts'
import type { Period, Site } from '../site.ts'
import { actText, instructionText } from './wording.ts'

const KINDS = ['settled', 'laboratory', 'act', 'instructed', 'tripped', 'alarm', 'started'] as const
type Observed = Extract<LedgerRecord, { readonly kind: 'observed' }>
type Told = Observed | Extract<LedgerRecord, { readonly kind: (typeof KINDS)[number] }>

/** Doses of one stock, and metered top-ups, are one mark an interval. */
export async function markersOf(
  site: Site,
  period: Period,
  intervalMs: number,
  observed: readonly Observed[],
): Promise<Marker[]> {
  const records = [...observed, ...(await site.records(KINDS, period))]
  const sums = new Map<string, Marker>()
  const single: Marker[] = []
  for (const record of records) {
    const marker = markerOf(record)
    if (!marker) continue
    if (marker.kind !== 'dose' && marker.kind !== 'top-up') {
      single.push(marker)
      continue
    }
    const key = `${marker.kind} ${marker.stock ?? ''} ${Math.floor((marker.atMs - period.fromMs) / intervalMs)}`
    sums.set(key, added(sums.get(key), marker))
  }
  return [...sums.values(), ...single].toSorted((one, other) => one.atMs - other.atMs)
}

function added(sum: Marker | undefined, one: Marker): Marker {
  if (!sum) return { ...one, count: 1 }
  const volumeMl = (sum.volumeMl ?? 0) + (one.volumeMl ?? 0)
  const volumeL = (sum.volumeL ?? 0) + (one.volumeL ?? 0)
  const count = (sum.count ?? 1) + 1
  return one.kind === 'dose'
    ? { ...sum, volumeMl, count, text: `${volumeMl.toFixed(1)} mL of ${one.stock} in ${count} shots` }
    : { ...sum, volumeL, count, text: `${volumeL.toFixed(1)} L of make-up` }
}

function markerOf(record: Told): Marker | undefined {
  const { atMs } = record
  switch (record.kind) {
    case 'observed': {
      const volumeL = record.observation.topUpL ?? 0
      return volumeL > 0 ? { atMs, kind: 'top-up', text: `${volumeL.toFixed(1)} L of make-up`, volumeL } : undefined
    }
    case 'settled': {
      const volumeMl = record.delivered.highUl / 1000
      const text = `${volumeMl.toFixed(1)} mL of ${record.stock}`
      return volumeMl > 0 ? { atMs, kind: 'dose', text, stock: record.stock, volumeMl } : undefined
    }
    case 'laboratory':
      return {
        ...{ atMs: record.result.sampledAtMs, kind: 'report', text: 'bottle of a laboratory report', by: record.by },
        id: record.result.id,
      }
    case 'act':
      return { atMs: record.act.doneAtMs, kind: 'act', text: actText(record.act), by: record.by }
    case 'instructed':
      return { atMs, kind: 'instruction', text: instructionText(record.instruction), by: record.by }
    case 'tripped':
      return { atMs, kind: 'trip', text: `${record.trip}: ${record.why}` }
    case 'alarm':
      return record.state === 'unacknowledged'
        ? { atMs, kind: 'alarm', text: record.text, id: record.alarm }
        : undefined
    case 'started':
      return { atMs, kind: 'restart', text: 'the daemon started' }
  }
}
