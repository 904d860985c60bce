/** The facts of a recorded verdict, from its own figures: what neither limits nor earlier shots have a part in. */

import type { Facts } from '../safety/facts.ts'
import type { Figures } from '../safety/figures.ts'
import type { Limits } from '../safety/limits.ts'
import type { ProbeFacts } from '../safety/water-facts.ts'

/** Numbers that stand as recorded; what was no finite number is none again, and so refuses as it did. */
const NUMBERS = [
  ...['term', 'approvalAgeMs', 'levelLowestL', 'levelHighestL', 'flowLowestLPerMin', 'phLowest', 'phHighest'],
  ...['phOldestAgeMs', 'heartbeatAgeMs', 'nodeUptimeMs', 'nodeTerm', 'maxRunMs', 'totalRunMs', 'doubtMs'],
  ...['rateUlPerS', 'makeUpHourL', 'makeUpDayL', 'meterL', 'meterAtMs', 'bottleUl'],
] as const

/** Words and switches that stand as recorded. */
const OTHERS = [
  ...['started', 'mode', 'approvedPlanId', 'heldBy', 'sanitising', 'switchHeld', 'linkUp', 'diskWritable'],
  ...['clockSane', 'commandIdNew', 'levelFitted', 'flowFitted', 'node', 'pump', 'nodeOnline', 'contractKnown'],
  ...['boot', 'runningPump', 'openOfPump', 'openOfNode', 'openFromBefore'],
] as const

/**
 * @param workedOut facts from the limits and the book alone; the recorded ones go over them
 */
export function factsOnRecord(limits: Limits, workedOut: Facts, figures: Figures): Facts {
  const recorded: Record<string, unknown> = {}
  for (const name of NUMBERS) if (name in figures) recorded[name] = numberOf(figures, name)
  for (const name of OTHERS) if (name in figures) recorded[name] = figures[name]
  const trips = typeof figures['trips'] === 'string' && figures['trips'] !== '' ? figures['trips'].split(' ') : []
  const probes = limits.probes.map((probe, at): ProbeFacts => {
    const told = (name: string) => numberOf(figures, `${probe.id}.${name}`)
    const quality = (figures[`${probe.id}.quality`] ?? null) as ProbeFacts['quality']
    const said = { value: told('value'), quality, ageMs: told('ageMs'), sameForMs: told('sameForMs') }
    return { ...workedOut.probes[at]!, ...said }
  })
  const flowingForMs = flowing(figures)
  return { ...workedOut, ...(recorded as Partial<Facts>), trips, probes, flowingForMs }
}

/** Without a flow probe the flow is not asked after. */
function flowing(figures: Figures): number {
  return figures['flowFitted'] === false ? Number.POSITIVE_INFINITY : numberOf(figures, 'flowingForMs')
}

function numberOf(figures: Figures, name: string): number {
  const value = figures[name]
  return typeof value === 'number' ? value : Number.NaN
}

/** What an interlock looks at that records of earlier versions do not have; then the recorded outcome stands. */
const LOOKS_AT: Readonly<Record<string, readonly string[]>> = {
  'hold-switch-open': ['switchHeld'],
  'not-sanitising': ['sanitising'],
  'stock-not-empty': ['bottleUl', 'sinceRefillUl'],
  'since-refill-bounded': ['sinceRefillUl'],
  'series-doubled': ['seriesUl'],
  'series-mixed': ['seriesUl'],
  'settled-since-start': ['openFromBefore'],
  'acid-hour-buffered': ['makeUpHourL'],
  'acid-day-buffered': ['makeUpDayL'],
}

/** Whether a verdict’s figures hold all that an interlock looks at. */
export function isOnRecord(interlock: string, figures: Figures): boolean {
  return (LOOKS_AT[interlock] ?? []).every((name) => name in figures)
}
