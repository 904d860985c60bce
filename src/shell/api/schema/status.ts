/** The reservoir now, as the page speaks of it: what is wrong first, then what is believed, then what comes next. */

import { z } from 'zod'
import { atMs, band, modeName } from './common.ts'
import { event } from './event.ts'
import { route } from './route.ts'

const alarmState = z.enum(['normal', 'unacknowledged', 'acknowledged', 'returned', 'latched', 'shelved', 'suppressed'])
const priority = z.enum(['urgent', 'high', 'low'])

const reading = z.object({
  quantity: z.enum(['conductivity', 'ph', 'level', 'temperature']),
  value: z.number().optional(),
  unit: z.string().meta({ description: 'mS/cm, empty for pH, L, °C' }),
  atMs: atMs.optional(),
  abnormal: z.string().optional().meta({ description: 'why it is doubtful or absent' }),
})

const nextDose = z.object({
  stock: z.string(),
  volumeMl: z.number(),
  atMs: atMs.optional(),
  reason: z.string().meta({ description: 'a sentence a grower understands' }),
})

const alarmNow = z.object({
  alarm: z.string(),
  state: alarmState,
  priority,
  text: z.string().meta({ description: 'all of it as one text' }),
  cause: z.string(),
  consequence: z.string(),
  action: z.string(),
  respondWithin: z.string(),
  raisedAtMs: atMs.optional(),
  by: z.string().optional().meta({ description: 'who acknowledged or shelved it' }),
  untilMs: atMs.optional().meta({ description: 'the end of its shelving' }),
  consequences: z.array(z.string()).meta({ description: 'alarms that follow from this one' }),
})
const tripNow = z.object({ trip: z.string(), why: z.string() })

/** The short form, as `tarnward status` prints it and integrators read it. */
const standstillNow = z
  .object({
    sinceMs: atMs,
    why: z.string(),
    text: z.string(),
    runsOut: z
      .object({ element: z.string(), atMs, earliestMs: atMs, mgPerL: z.number(), lowMgPerL: z.number() })
      .optional(),
  })
  .meta({ description: 'since when and why nothing is dosed, and what is short first' })

export const status = z
  .object({
    version: z.string(),
    reservoir: z.string(),
    atMs,
    mode: modeName,
    held: z.boolean(),
    sentence: z.string().meta({ description: 'how the reservoir is and what comes next' }),
    readings: z.array(reading),
    nextDoses: z.array(nextDose),
    plan: z
      .object({
        id: z.string(),
        atMs,
        validUntilMs: atMs,
        approval: z.object({ isGiven: z.boolean(), untilMs: atMs.optional() }).optional(),
        doses: z.array(z.object({ stock: z.string(), volumeMl: z.number(), reason: z.string() })),
      })
      .optional(),
    sample: z
      .object({
        neededByMs: atMs.optional(),
        text: z.string(),
        elements: z.array(z.object({ element: z.string(), neededByMs: atMs.optional(), sdShare: z.number() })),
      })
      .optional()
      .meta({ description: 'when the next laboratory sample is needed' }),
    notes: z.array(z.object({ kind: z.string(), text: z.string(), sinceMs: atMs })),
    alarms: z.array(alarmNow),
    standstill: standstillNow.optional(),
    trips: z.array(tripNow),
    nodes: z.array(z.object({ node: z.string(), online: z.boolean() })),
    head: z
      .object({ sequence: z.number(), hash: z.string(), atMs: atMs.optional() })
      .meta({ description: 'the ledger’s head, published so that a cut tail shows' }),
    events: z.array(event),
  })
  .meta({ id: 'Status' })

export const estimate = z
  .object({
    atMs,
    volumeL: z.number(),
    alkalinityMeqPerL: z.number(),
    elements: z.record(z.string(), z.object({ mgPerL: z.number(), sdMgPerL: z.number(), band: band.optional() })),
  })
  .meta({ id: 'Estimate' })

/** Order of the page: what the crop takes first, what it takes with its water, what it leaves behind. */
export const habits = ['taken-quickly', 'with-the-water', 'left-behind'] as const

const elementNow = z.object({
  element: z.string(),
  name: z.string().meta({ description: 'in words: potassium' }),
  habit: z.enum(habits),
  mgPerL: z.number(),
  sdMgPerL: z.number(),
  low90MgPerL: z.number().meta({ description: 'lower end of the 90 % interval' }),
  high90MgPerL: z.number(),
  band: band.optional(),
  place: z.enum(['low', 'in-band', 'high', 'no-band']),
  isDoubtful: z.boolean().meta({ description: 'the interval is wider than the band: look at it as doubtful' }),
  uptakeMgPerLPerDay: z.number().optional().meta({ description: 'what the crop takes now' }),
  laboratory: z.object({ mgPerL: z.number(), sampledAtMs: atMs, id: z.string() }).optional(),
})

const probeNow = reading.extend({
  probe: z.string(),
  quantity: z.enum(['conductivity', 'ph', 'level', 'temperature', 'flow', 'top-up', 'hold-switch', 'other']),
  isStale: z.boolean(),
  min: z.number().optional().meta({ description: 'no dose below' }),
  max: z.number().optional().meta({ description: 'no dose above' }),
  expected: z.number().optional().meta({ description: 'what the estimate says it should show' }),
})

export const now = z
  .object({
    version: z.string(),
    reservoir: z.string(),
    atMs,
    zone: z.string(),
    mode: modeName,
    sentence: z.string(),
    wrong: z
      .array(
        z.object({
          kind: z.enum(['alarm', 'trip', 'hold', 'probe', 'element', 'node', 'edge']),
          priority,
          text: z.string(),
          id: z.string().optional().meta({ description: 'alarm, trip, probe or element it is about' }),
        }),
      )
      .meta({ description: 'what is not as it should be, worst first; empty when all is well' }),
    hold: z.object({ by: z.string(), reason: z.string(), sinceMs: atMs }).optional(),
    standstill: standstillNow.optional(),
    elements: z.array(elementNow).meta({ description: 'in the order of the page' }),
    volumeL: z.number().optional(),
    sdVolumeL: z.number().optional(),
    alkalinityMeqPerL: z.number().optional(),
    probes: z.array(probeNow),
    notFitted: z.array(z.object({ role: z.string(), reason: z.string() })),
    water: z.object({
      usedTodayL: z
        .number()
        .optional()
        .meta({ description: 'transpired since local midnight, as believed or metered' }),
      usedLastDayL: z.number().optional(),
    }),
    sample: z.object({
      ageDays: z.number().optional().meta({ description: 'since the newest accepted bottle was filled' }),
      dueInDays: z.number().optional().meta({ description: 'until the next bottle is needed; below 0 it is overdue' }),
      text: z.string(),
    }),
    plan: z
      .object({
        id: z.string(),
        atMs,
        untilMs: atMs,
        isApproved: z.boolean(),
        waitsForApproval: z.boolean().meta({ description: 'mode advise, nobody has approved it' }),
        doses: z.array(z.object({ stock: z.string(), volumeMl: z.number(), reason: z.string() })),
        notes: z.array(z.string()),
      })
      .optional(),
    nextDoses: z.array(nextDose),
    alarms: z.array(alarmNow),
    trips: z.array(tripNow.extend({ subject: z.string(), atMs })),
    nodes: z.array(z.object({ node: z.string(), online: z.boolean(), heardAtMs: atMs.optional() })),
    cohorts: z.array(
      z.object({
        id: z.string(),
        crop: z.string(),
        plants: z.number(),
        transplantedAtMs: atMs,
        harvestedAtMs: atMs.optional(),
      }),
    ),
    eventSequence: z.number().meta({ description: 'of the newest event seen in this answer' }),
  })
  .meta({ id: 'Now' })

export const statusRoutes = {
  status: route({
    method: 'GET',
    path: '/api/status',
    role: 'viewer',
    summary: 'The short form: sentence, readings, next doses, alarms, the last events',
    answers: { 200: { description: 'now', schema: status } },
  }),
  estimate: route({
    method: 'GET',
    path: '/api/estimate',
    role: 'viewer',
    summary: 'Every element as it is believed to be, with its band',
    answers: { 200: { description: 'the estimate', schema: estimate } },
  }),
  now: route({
    method: 'GET',
    path: '/api/now',
    role: 'viewer',
    summary: 'The reservoir now, with everything its view shows',
    answers: { 200: { description: 'now', schema: now } },
  }),
} as const

export type Now = z.output<typeof now>
export type ElementNow = Now['elements'][number]
export type ProbeNow = Now['probes'][number]
