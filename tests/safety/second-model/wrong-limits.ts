/**
 * Limits of which one number is off by the least that could matter, each to the stricter side. A model that goes by
 * them must find the gate too lax; where it does not, the sequences never come near that edge.
 */

import type { Limits, ProbeLimits, StockLimits } from '../../../src/safety/limits.ts'

/** What a value that stands on a bound is moved by. */
const LEAST = 1e-10

type Wrong = (limits: Limits) => Limits

/** One wrong limit by the name of its number. */
export const WRONG_LIMITS: Readonly<Record<string, Wrong>> = {
  approvalMs: (limits) => ({ ...limits, approvalMs: limits.approvalMs - 1 }),
  scanAgeMaxMs: (limits) => ({ ...limits, scanAgeMaxMs: limits.scanAgeMaxMs - 1 }),
  stuckMs: (limits) => ({ ...limits, stuckMs: limits.stuckMs - 1 }),
  levelMinL: (limits) => ({ ...limits, levelMinL: limits.levelMinL + LEAST }),
  levelMaxL: (limits) => ({ ...limits, levelMaxL: limits.levelMaxL - LEAST }),
  flowMinLPerMin: (limits) => ({ ...limits, flowMinLPerMin: limits.flowMinLPerMin + LEAST }),
  flowSteadyMs: (limits) => ({ ...limits, flowSteadyMs: limits.flowSteadyMs + 1 }),
  heartbeatAgeMaxMs: (limits) => ({ ...limits, heartbeatAgeMaxMs: limits.heartbeatAgeMaxMs - 1 }),
  startWindowMs: (limits) => ({ ...limits, startWindowMs: limits.startWindowMs + 1 }),
  mixingMs: (limits) => ({ ...limits, mixingMs: limits.mixingMs + 1 }),
  notFittedCapShare: (limits) => ({ ...limits, notFittedCapShare: limits.notFittedCapShare * 0.999 }),
  'probe min': probes((probe) => ({ ...probe, min: probe.min + LEAST })),
  'probe max': probes((probe) => ({ ...probe, max: probe.max - LEAST })),
  shotMaxUl: stocks((entry) => ({ ...entry, shotMaxUl: entry.shotMaxUl - 1 })),
  hourMaxUl: stocks((entry) => ({ ...entry, hourMaxUl: entry.hourMaxUl - 1 })),
  dayMaxUl: stocks((entry) => ({ ...entry, dayMaxUl: entry.dayMaxUl - 1 })),
  gapMs: stocks((entry) => ({ ...entry, gapMs: entry.gapMs + 1 })),
  apart: stocks((entry) => ({ ...entry, apart: entry.apart.map((apart) => ({ ...apart, ms: apart.ms + 1 })) })),
  rateUlPerS: stocks((entry) => ({ ...entry, rateUlPerS: entry.rateUlPerS * 1.001 })),
  reservoirMinL: acid((limits) => ({ ...limits, reservoirMinL: limits.reservoirMinL * 0.999 })),
  shotMaxMeqPerL: acid((limits) => ({ ...limits, shotMaxMeqPerL: limits.shotMaxMeqPerL * 0.999 })),
  meqPerMl: acid((limits) => ({ ...limits, meqPerMl: limits.meqPerMl * 1.001 })),
  phFreshMs: acid((limits) => ({ ...limits, phFreshMs: limits.phFreshMs - 1 })),
  phFloor: acid((limits) => ({ ...limits, phFloor: limits.phFloor + 20 * LEAST })),
  afterFlowMs: acid((limits) => ({ ...limits, afterFlowMs: limits.afterFlowMs + 1 })),
}

function probes(change: (probe: ProbeLimits) => ProbeLimits): Wrong {
  return (limits) => ({ ...limits, probes: limits.probes.map(change) })
}

function stocks(change: (entry: StockLimits) => StockLimits): Wrong {
  return (limits) => ({ ...limits, stocks: limits.stocks.map(change) })
}

function acid(change: (acid: NonNullable<Limits['acid']>) => NonNullable<Limits['acid']>): Wrong {
  return (limits) => (limits.acid === undefined ? limits : { ...limits, acid: change(limits.acid) })
}
