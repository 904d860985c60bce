/** For machines that watch the machine. */

import { z } from 'zod'
import { route } from './route.ts'

const ready = z
  .object({
    ready: z.boolean(),
    checks: z.array(z.object({ name: z.string(), ok: z.boolean(), text: z.string() })),
  })
  .meta({ id: 'Ready' })
const alive = z.object({ alive: z.boolean() }).meta({ id: 'Alive' })

export const healthRoutes = {
  alive: route({
    method: 'GET',
    path: '/healthz',
    role: 'anyone',
    summary: 'Whether the loop still takes inputs',
    answers: { 200: { description: 'alive', schema: alive }, 503: { description: 'stalled', schema: alive } },
  }),
  ready: route({
    method: 'GET',
    path: '/readyz',
    role: 'anyone',
    summary: 'Ledger, link, clock and nodes',
    answers: { 200: { description: 'ready', schema: ready }, 503: { description: 'not ready', schema: ready } },
  }),
  metrics: route({
    method: 'GET',
    path: '/metrics',
    role: 'viewer',
    summary: 'Figures for Prometheus',
    answers: { 200: { description: 'text format', type: 'text/plain' } },
  }),
  document: route({
    method: 'GET',
    path: '/openapi.json',
    role: 'anyone',
    summary: 'This document',
    answers: { 200: { description: 'OpenAPI 3.1', schema: z.looseObject({ openapi: z.string() }) } },
  }),
} as const
