/** Laboratory reports and spot readings: given, read, previewed, accepted, held, withdrawn. */

import { z } from 'zod'
import { atMs, by, id, reason, taken } from './common.ts'
import { route } from './route.ts'

/** A laboratory’s file is some kilobytes; a megabyte lets a scanned-in oddity be refused in words instead. */
const FILE_MAX_BYTES = 1024 * 1024

const file = {
  fileName: z.string().min(1).max(200),
  text: z.string().min(1),
  sampledAt: z.iso.datetime({ offset: true }).meta({ description: 'when the bottle was filled' }),
  sample: z.string().min(1).max(200).optional().meta({ description: 'which bottle, where the report holds several' }),
  mapping: z
    .strictObject({ fileName: z.string().min(1).max(200), text: z.string().max(65_536) })
    .optional()
    .meta({ description: 'what this laboratory’s own words mean' }),
}

export const laboratoryUpload = z.strictObject({
  ...file,
  by,
  accept: z.boolean().default(false).meta({ description: 'take it in spite of the doubts that held it' }),
})

export const laboratoryPreviewBody = z.strictObject(file)

const value = z.object({
  element: z.string(),
  asWritten: z.string().meta({ description: 'the report’s own words: analyte, value and unit' }),
  mgPerL: z.number().optional(),
  belowMgPerL: z.number().optional().meta({ description: 'under the detection limit' }),
})

const effect = z.object({
  element: z.string(),
  atSamplingMgPerL: z.number().optional().meta({ description: 'what was believed of the bottle’s moment' }),
  laboratoryMgPerL: z.number().optional(),
  beforeMgPerL: z.number().meta({ description: 'believed now, without the report' }),
  beforeSdMgPerL: z.number(),
  afterMgPerL: z.number().meta({ description: 'what would be believed now with it' }),
  afterSdMgPerL: z.number(),
})

export const laboratoryPreview = z
  .object({
    id: z.string(),
    isKnown: z.boolean().meta({ description: 'this very file was taken before' }),
    samples: z.array(z.string()).meta({ description: 'bottles in the file' }),
    values: z.array(value),
    conductivityDsPerM: z.number().optional(),
    ph: z.number().optional(),
    alkalinityMeqPerL: z.number().optional(),
    noted: z.array(z.object({ analyte: z.string(), asWritten: z.string(), why: z.string() })),
    verdict: z.enum(['plausible', 'suspect']),
    doubts: z.array(z.string()),
    balancePercent: z.number().optional(),
    effects: z.array(effect).meta({ description: 'on each element, nothing taken yet' }),
    text: z.string(),
  })
  .meta({ id: 'LaboratoryPreview' })

export const laboratoryAnswer = z
  .discriminatedUnion('kind', [
    z.object({
      kind: z.literal('accepted'),
      id: z.string(),
      text: z.string(),
      known: z.boolean().optional().meta({ description: 'the same file was taken before; nothing was done again' }),
    }),
    z.object({ kind: z.literal('held'), id: z.string(), why: z.array(z.string()) }),
  ])
  .meta({ id: 'LaboratoryAnswer' })

const listed = z.object({
  id: z.string(),
  fileName: z.string().optional(),
  sampledAtMs: atMs,
  receivedAtMs: atMs,
  by: z.string(),
  state: z.enum(['accepted', 'held', 'withdrawn']),
  why: z.array(z.string()),
  values: z.array(
    z.object({
      element: z.string(),
      mgPerL: z.number().optional(),
      belowMgPerL: z.number().optional(),
      estimateMgPerL: z.number().optional().meta({ description: 'believed at sampling, before this report' }),
      estimateSdMgPerL: z.number().optional(),
    }),
  ),
})

export const laboratoryList = z
  .object({
    reports: z.array(listed).meta({ description: 'newest bottle first' }),
    samples: z.array(z.object({ atMs, by: z.string(), note: z.string().optional() })).meta({
      description: 'bottles stamped as drawn, newest first',
    }),
    spots: z.array(
      z.object({
        atMs,
        by: z.string(),
        quantity: z.string(),
        value: z.number(),
        unit: z.string(),
        sd: z.number().optional(),
      }),
    ),
  })
  .meta({ id: 'LaboratoryList' })

export const moment = z
  .object({
    isGood: z.boolean(),
    text: z.string().meta({ description: 'one sentence: whether now is a good moment, and if not, when' }),
    checks: z.array(z.object({ check: z.string(), ok: z.boolean(), text: z.string() })),
    goodAtMs: atMs.optional(),
  })
  .meta({ id: 'SampleMoment' })

export const spotReading = z.strictObject({
  by,
  quantity: z.string().min(1).max(20).meta({ description: 'an element such as NO3-N or K, or conductivity or ph' }),
  value: z.number().nonnegative().meta({ description: 'mg/L of the element (nitrogen as N), mS/cm, or pH' }),
  sd: z.number().positive().optional().meta({ description: 'its own uncertainty, same unit' }),
  readAtMs: z.number().optional().meta({ description: 'epoch milliseconds UTC; now where absent' }),
})

const idParams = z.strictObject({ id })
const accepted = { description: 'taken', schema: laboratoryAnswer }

export const laboratoryRoutes = {
  list: route({
    method: 'GET',
    path: '/api/laboratory',
    role: 'viewer',
    summary: 'Every report with laboratory against estimate at sampling, samples drawn and spot readings',
    answers: { 200: { description: 'the list', schema: laboratoryList } },
  }),
  upload: route({
    method: 'POST',
    path: '/api/laboratory',
    role: 'grower',
    summary: 'Give a laboratory’s file; a suspect one is held for a person',
    body: laboratoryUpload,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: {
      200: { ...accepted, description: 'known already' },
      201: accepted,
      202: { ...accepted, description: 'held' },
    },
  }),
  preview: route({
    method: 'POST',
    path: '/api/laboratory/preview',
    role: 'viewer',
    summary: 'Read and judge a file and show its effect on each element; nothing is taken',
    body: laboratoryPreviewBody,
    bodyMaxBytes: FILE_MAX_BYTES,
    answers: { 200: { description: 'what it says and would do', schema: laboratoryPreview } },
  }),
  moment: route({
    method: 'GET',
    path: '/api/laboratory/moment',
    role: 'viewer',
    summary: 'Whether now is a good moment to draw a sample: mixed, circulating, not just topped up',
    answers: { 200: { description: 'the moment', schema: moment } },
  }),
  drawn: route({
    method: 'POST',
    path: '/api/laboratory/drawn',
    role: 'grower',
    summary: 'Stamp a sample as drawn now (or at a time given)',
    body: z.strictObject({ by, atMs: atMs.optional(), note: z.string().max(300).optional() }),
    answers: { 200: { description: 'stamped', schema: z.object({ atMs, moment }) } },
    needsKey: true,
  }),
  decision: route({
    method: 'POST',
    path: '/api/laboratory/{id}/decision',
    role: 'grower',
    summary: 'Accept a report that was held, or hold one that was accepted',
    params: idParams,
    body: z.strictObject({ by, reason, decision: z.enum(['accept', 'hold']) }),
    answers: { 200: { description: 'decided', schema: taken } },
    needsKey: true,
  }),
  withdraw: route({
    method: 'POST',
    path: '/api/laboratory/{id}/withdraw',
    role: 'grower',
    summary: 'Take a report back; the estimate becomes what it would have been without it',
    params: idParams,
    body: z.strictObject({ by, reason }),
    answers: { 200: { description: 'withdrawn', schema: taken } },
    needsKey: true,
  }),
  spot: route({
    method: 'POST',
    path: '/api/spot-reading',
    role: 'grower',
    summary: 'A handheld value of one’s own',
    body: spotReading,
    answers: { 200: { description: 'taken', schema: taken } },
    needsKey: true,
  }),
} as const

export type LaboratoryUploadBody = z.input<typeof laboratoryUpload>
export type LaboratoryPreview = z.output<typeof laboratoryPreview>
export type LaboratoryAnswer = z.output<typeof laboratoryAnswer>
export type LaboratoryList = z.output<typeof laboratoryList>
export type SampleMoment = z.output<typeof moment>
export type SpotReading = z.input<typeof spotReading>
