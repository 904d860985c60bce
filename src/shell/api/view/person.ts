/** What people did and said, and which alarms came and went. */

import { ALARMS, alarmText } from '../../../core/alarm/alarm-definition.ts'
import type { LedgerRecord } from '../../../reservoir/record.ts'
import { INTERLOCKS } from '../../../safety/interlocks.ts'
import type { AlarmView, DaemonView } from '../../daemon-view.ts'
import type { Alarm, Alarms } from '../schema/alarm.ts'
import type { Period, Site } from '../site.ts'
import { actText, instructionText } from './wording.ts'

const KINDS = [
  'act',
  'instructed',
  'laboratory',
  'laboratory-held',
  'laboratory-decided',
  'laboratory-withdrawn',
  'spot',
] as const
type Said = Extract<LedgerRecord, { readonly kind: (typeof KINDS)[number] }>

/** Newest first. */
export async function actsView(site: Site, period: Period, limit: number) {
  const records = await site.records(KINDS, period)
  return { acts: records.toReversed().slice(0, limit).map(saidOf) }
}

function saidOf(record: Said) {
  const { atMs, by } = record
  switch (record.kind) {
    case 'act': {
      const { act } = record
      return { atMs, by, kind: 'act' as const, name: act.act, text: actText(act), doneAtMs: act.doneAtMs }
    }
    case 'instructed': {
      const { instruction, reason } = record
      return {
        atMs,
        by,
        kind: 'instruction' as const,
        name: instruction.instruction,
        text: instructionText(instruction),
        reason,
      }
    }
    case 'spot': {
      const { quantity, value } = record.reading
      return { atMs, by, kind: 'other' as const, name: 'spot-reading', text: `${quantity} read as ${value} by hand` }
    }
    case 'laboratory-decided': {
      const { id, decision, reason } = record
      return { atMs, by, kind: 'laboratory' as const, name: record.kind, text: `report ${id}: ${decision}`, reason }
    }
    case 'laboratory-held':
      return { atMs, by, kind: 'laboratory' as const, name: record.kind, text: `report ${record.result.id} held` }
    case 'laboratory':
      return { atMs, by, kind: 'laboratory' as const, name: 'laboratory', text: `report ${record.result.id} given` }
    case 'laboratory-withdrawn':
      return {
        atMs,
        by,
        kind: 'withdrawal' as const,
        name: 'laboratory-withdrawn',
        text: `report ${record.id} taken back`,
      }
  }
}

const WEEK_MS = 7 * 86_400_000
const PAST_MAX = 200
const RULES = new Map(INTERLOCKS.map(({ id, rule }) => [id, rule]))

export async function alarmsView(site: Site, view: DaemonView): Promise<Alarms> {
  const nowMs = site.nowMs()
  const past = await site.records(['alarm'], { fromMs: nowMs - WEEK_MS, untilMs: nowMs })
  return {
    alarms: view.status().alarms.map(alarmOf),
    known: ALARMS.map((definition) => {
      const { id, priority, cause, consequence, action, respondWithin } = definition
      return {
        ...{ alarm: id, state: 'normal' as const, priority, isPlantLife: priority === 'urgent' },
        text: alarmText(definition, ''),
        ...{ cause, consequence, action, respondWithin, groups: [...definition.explains] },
      }
    }),
    trips: site.state().safety.trips.map(({ trip, subject, why, atMs }) => ({
      ...{ trip, subject, why, atMs, text: RULES.get(trip) ?? why },
    })),
    past: past
      .toReversed()
      .slice(0, PAST_MAX)
      .map(({ atMs, alarm, state, text }) => ({ atMs, alarm, state, text })),
  }
}

function alarmOf(alarm: AlarmView): Alarm {
  const { state, raisedAtMs, untilMs, consequences, by } = alarm
  return {
    ...{
      alarm: alarm.alarm,
      state,
      priority: alarm.priority,
      isPlantLife: alarm.priority === 'urgent',
      text: alarm.text,
    },
    ...{ cause: alarm.cause, consequence: alarm.consequence, action: alarm.action, respondWithin: alarm.respondWithin },
    ...(raisedAtMs === undefined ? {} : { sinceMs: raisedAtMs }),
    ...(untilMs === undefined ? {} : { shelvedUntilMs: untilMs }),
    ...(by === undefined ? {} : { by }),
    groups: [...consequences],
  }
}
