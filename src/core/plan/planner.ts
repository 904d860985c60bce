// Stub while the rest is written: proposes nothing.

import type { Plan } from './plan.ts'
import type { PlanInput } from './plan-input.ts'

/** Doses, shots and notes for the next interval. Pure: the same input gives the same plan. */
export function plan(input: PlanInput): Plan {
  const untilMs = input.atMs + input.forecast.intervalMs
  return { id: input.planId, atMs: input.atMs, untilMs, doses: [], shots: [], notes: [] }
}
