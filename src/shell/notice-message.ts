/** What is posted to a webhook and what stands in the retained topics of alarms, as zod schemas. */

import { z } from 'zod'
import type { Notice } from '../core/alarm/escalation.ts'
import type { AlarmView } from './daemon-view.ts'

const priority = z.enum(['urgent', 'high', 'low'])
const told = {
  cause: z.string(),
  consequence: z.string(),
  action: z.string(),
  respondWithin: z.string(),
  text: z.string().meta({ description: 'all of it as one text' }),
  consequences: z.array(z.string()).meta({ description: 'alarms that follow from this one' }),
}

/** One message to one or more people; the same id is the same message. */
export const noticeSchema = z.strictObject({
  schema: z.literal(1),
  site: z.string(),
  id: z.string(),
  kind: z.enum(['raised', 'escalated', 'repeated', 'acknowledged', 'shelved', 'grouped', 'over']),
  to: z.array(z.string()),
  alarm: z.string(),
  priority,
  at: z.iso.datetime(),
  raisedAt: z.iso.datetime(),
  by: z.string().optional(),
  ...told,
})

export type NoticeMessage = z.infer<typeof noticeSchema>

/** A notice as it is posted. */
export function noticeMessage(site: string, notice: Notice): NoticeMessage {
  const { atMs, raisedAtMs, to, consequences, ...rest } = notice
  const at = new Date(atMs).toISOString()
  const raisedAt = new Date(raisedAtMs).toISOString()
  return { schema: 1, site, ...rest, to: [...to], at, raisedAt, consequences: [...consequences] }
}

/** The retained state of one alarm below `state/alarm/`; the topic is emptied when it is normal. */
export const alarmStateSchema = z.strictObject({
  alarm: z.string(),
  state: z.enum(['unacknowledged', 'acknowledged', 'returned', 'latched', 'shelved']),
  priority,
  raisedAt: z.iso.datetime().optional(),
  until: z.iso.datetime().optional().meta({ description: 'the end of its shelving' }),
  by: z.string().optional().meta({ description: 'who acknowledged or shelved it' }),
  ...told,
})

/** The retained summary below `state/alarms`: how many stand, by priority, and which is the gravest. */
export const alarmSummarySchema = z.strictObject({
  urgent: z.int().nonnegative(),
  high: z.int().nonnegative(),
  low: z.int().nonnegative(),
  unacknowledged: z.int().nonnegative(),
  first: z.string().optional(),
})

type StoodView = AlarmView & { readonly state: Exclude<AlarmView['state'], 'normal' | 'suppressed'> }

/** An alarm as its topic shows it. */
export function alarmState(view: AlarmView): z.infer<typeof alarmStateSchema> {
  const { raisedAtMs, untilMs, consequences, ...rest } = view as StoodView
  return {
    ...rest,
    ...(raisedAtMs === undefined ? {} : { raisedAt: new Date(raisedAtMs).toISOString() }),
    ...(untilMs === undefined ? {} : { until: new Date(untilMs).toISOString() }),
    consequences: [...consequences],
  }
}

/** The summary of what stands; shelved ones and those whose cause is gone are not counted. */
export function alarmSummary(views: readonly AlarmView[]): z.infer<typeof alarmSummarySchema> {
  const standing = views.filter(({ state }) => state === 'unacknowledged' || state === 'acknowledged')
  const count = (wanted: AlarmView['priority']) => standing.filter(({ priority }) => priority === wanted).length
  const first = standing[0]?.alarm
  return {
    ...{ urgent: count('urgent'), high: count('high'), low: count('low') },
    unacknowledged: standing.filter(({ state }) => state === 'unacknowledged').length,
    ...(first === undefined ? {} : { first }),
  }
}
