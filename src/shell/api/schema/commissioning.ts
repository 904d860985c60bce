/** Bringing a site into service: pumps, probes, what is connected where, a dry run, then mode by mode. */

import { z } from 'zod'
import { atMs, by, id, modeName, reason } from './common.ts'
import { route } from './route.ts'

const check = z.object({
  check: z.string(),
  text: z.string(),
  ok: z.boolean(),
  next: z.string().optional().meta({ description: 'what to do where it is not' }),
})

export const commissioning = z
  .object({
    mode: modeName,
    /** what must be done before the next mode */
    nextMode: modeName.optional(),
    checklist: z.array(check),
    pumps: z.array(
      z.object({
        stock: z.string(),
        node: z.string(),
        pump: z.string(),
        isAcid: z.boolean().meta({ description: 'calibrate it with water' }),
        rateMlPerMin: z.number(),
        measuredAtMs: atMs.optional(),
        by: z.string().optional(),
        online: z.boolean(),
        maxRunMs: z.number().optional(),
        runs: z
          .object({ runMaxMl: z.number(), dayMaxMl: z.number(), dayLeftMl: z.number() })
          .optional()
          .meta({ description: 'what it may give into a measuring glass; absent where the limits allow none' }),
        triedAtMs: atMs.optional().meta({ description: 'when it last ran for a person' }),
      }),
    ),
    probes: z.array(
      z.object({
        probe: z.string(),
        node: z.string(),
        role: z.string(),
        unit: z.string(),
        slope: z.number(),
        offset: z.number(),
        calibratedAtMs: atMs.optional(),
        by: z.string().optional(),
        value: z.number().optional(),
        atMs: atMs.optional(),
      }),
    ),
    nodes: z.array(
      z.object({
        node: z.string(),
        online: z.boolean(),
        pumps: z.array(z.object({ id: z.string(), stock: z.string().optional() })),
      }),
    ),
  })
  .meta({ id: 'Commissioning' })

/** Volumes of repeated runs of the same length become a rate with its scatter. */
export const pumpRuns = z.strictObject({
  stock: id,
  runs: z
    .array(z.strictObject({ runMs: z.number().positive(), volumeMl: z.number().positive() }))
    .min(1)
    .max(20),
})

export const pumpRate = z
  .object({
    rateMlPerMin: z.number(),
    scatterPercent: z.number().optional().meta({ description: 'relative standard deviation; absent with one run' }),
    changePercent: z.number().meta({ description: 'against the rate in force' }),
    verdict: z.enum(['good', 'repeat', 'look']),
    text: z.string(),
  })
  .meta({ id: 'PumpRate' })

export const probePoints = z.strictObject({
  probe: id,
  kind: z.enum(['ph', 'conductivity', 'temperature', 'level', 'flow']),
  points: z
    .array(z.strictObject({ reference: z.number(), shown: z.number() }))
    .min(1)
    .max(5)
    .meta({ description: 'what the buffer or standard is, and what the uncalibrated probe showed in it' }),
  temperatureC: z.number().min(0).max(60).optional(),
})

export const probeCalibration = z
  .object({
    slope: z.number(),
    offset: z.number(),
    slopePercent: z
      .number()
      .optional()
      .meta({ description: 'of the ideal 59.16 mV per pH at 25 °C, where it is a pH probe' }),
    cellConstantFactor: z.number().optional(),
    verdict: z.enum(['good', 'ageing', 'unfit']),
    text: z.string(),
  })
  .meta({ id: 'ProbeCalibration' })

export const pumpRun = z
  .object({
    commandId: z.string(),
    runMs: z.number().meta({ description: 'what it runs in truth: never longer than asked' }),
    expectedMl: z.number().meta({ description: 'at the rate in force' }),
  })
  .meta({ id: 'PumpRun' })

export const commissioningRoutes = {
  view: route({
    method: 'GET',
    path: '/api/commissioning',
    role: 'viewer',
    summary: 'Pumps, probes, mapping, and the checklist towards the next mode',
    answers: { 200: { description: 'as it stands', schema: commissioning } },
  }),
  pumpRun: route({
    method: 'POST',
    path: '/api/commissioning/pump-run',
    role: 'technician',
    summary: 'Run one pump for a time, through the gate, to measure or to try it (with water)',
    body: z.strictObject({ by, reason, stock: id, runMs: z.int().min(100).max(120_000), withWater: z.boolean() }),
    answers: {
      202: {
        description: 'on its way; its outcome stands in /api/doses',
        schema: pumpRun,
      },
    },
    needsKey: true,
  }),
  pumpRate: route({
    method: 'POST',
    path: '/api/commissioning/pump-rate',
    role: 'viewer',
    summary: 'A rate and its scatter from measured volumes; nothing is changed (then: instruction pump-rate)',
    body: pumpRuns,
    answers: { 200: { description: 'the rate', schema: pumpRate } },
  }),
  probe: route({
    method: 'POST',
    path: '/api/commissioning/probe',
    role: 'viewer',
    summary: 'Slope and offset from one or two points, judged; nothing is changed (then: instruction calibrate)',
    body: probePoints,
    answers: { 200: { description: 'the calibration', schema: probeCalibration } },
  }),
} as const

export type Commissioning = z.output<typeof commissioning>
export type PumpRun = z.output<typeof pumpRun>
export type PumpRate = z.output<typeof pumpRate>
export type ProbeCalibration = z.output<typeof probeCalibration>
