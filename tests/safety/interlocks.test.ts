import { describe, expect, it } from 'vitest'
import { factsFor } from '../../src/safety/facts.ts'
import { INTERLOCKS } from '../../src/safety/interlocks.ts'
import { readyBench } from './bench.ts'
import { INTERLOCK_CASES, refusalsIn } from './interlock-cases.ts'

describe('each interlock at its edge', () => {
  it.each(INTERLOCK_CASES.filter((row) => row.holds))('$interlock holds for $tells', (row) => {
    expect(refusalsIn(row)).not.toContain(row.interlock)
  })

  it.each(INTERLOCK_CASES.filter((row) => !row.holds))('$interlock refuses $tells', (row) => {
    expect(refusalsIn(row)).toContain(row.interlock)
  })
})

describe('the table of interlocks', () => {
  it('gives every interlock a name of its own and a sentence for a grower', () => {
    const names = INTERLOCKS.map((row) => row.id)
    expect(new Set(names).size).toBe(names.length)
    for (const row of INTERLOCKS) expect(row.rule, row.id).toMatch(/^(?:[A-Z]|pH)[^.]{20,}\.$/)
  })

  it.each(INTERLOCKS.map((row) => row.id))('is tested for %s on both sides', (id) => {
    const cases = INTERLOCK_CASES.filter((row) => row.interlock === id)
    expect(cases.some((row) => row.holds)).toBe(true)
    expect(cases.some((row) => !row.holds)).toBe(true)
  })

  it('has no case for an interlock that does not exist', () => {
    const names = new Set(INTERLOCKS.map((row) => row.id))
    expect(INTERLOCK_CASES.filter((row) => !names.has(row.interlock))).toEqual([])
  })

  it('lets a shot of every stock pass on a bench where all is well', () => {
    const bench = readyBench()
    for (const { stock } of bench.limits.stocks) expect(bench.refusals(stock), stock).toEqual([])
  })
})

/** What it takes to make one row refuse for want of a number: the row must not read "x > max" anywhere. */
const NUMBERS_OF: Readonly<Record<string, readonly string[]>> = {
  started: ['term'],
  'heartbeat-fresh': ['heartbeatAgeMs', 'nodeUptimeMs'],
  'term-ours': ['term', 'nodeTerm'],
  'pump-known': ['maxRunMs', 'totalRunMs', 'doubtMs'],
  'level-not-low': ['levelLowestL'],
  'level-not-high': ['levelHighestL'],
  'flow-running': ['flowLowestLPerMin', 'flowingForMs'],
  'flow-steady': ['flowingForMs'],
  'run-bounded': ['maxRunMs', 'rateUlPerS'],
  'hour-bounded': ['hourUl'],
  'day-bounded': ['dayUl'],
  'stock-not-empty': ['bottleUl', 'sinceRefillUl'],
  'since-refill-bounded': ['sinceRefillMaxUl', 'sinceRefillUl'],
  'series-doubled': ['seriesUl'],
  'gap-kept': ['sinceShotMs', 'gapMs'],
  'acid-shot-bounded': ['levelLowestL'],
  'acid-mixed': ['sinceAcidMs'],
  'acid-ph-fresh': ['phOldestAgeMs', 'sinceAcidMs'],
  'acid-ph-above-floor': ['phLowest'],
  'acid-after-flow': ['flowingForMs'],
}

describe('a figure that is no number', () => {
  const pairs = Object.entries(NUMBERS_OF).flatMap(([id, figures]) => figures.map((figure) => ({ id, figure })))

  it.each(pairs)('makes $id refuse where it is $figure', ({ id, figure }) => {
    const bench = readyBench()
    const facts = factsFor(bench.limits, bench.state, { stock: 'acid', atMs: bench.atMs })
    const row = INTERLOCKS.find((candidate) => candidate.id === id)
    const wish = { stock: 'acid', volumeUl: 1000, planId: 'plan-1' }
    expect(row?.holds(wish, facts, bench.limits)).toBe(true)
    expect(row?.holds(wish, { ...facts, [figure]: Number.NaN }, bench.limits)).toBe(false)
  })

  const limitsOf = {
    'probe-fresh': 'scanAgeMaxMs',
    'probe-not-stuck': 'stuckMs',
    'level-not-low': 'levelMinL',
    'level-not-high': 'levelMaxL',
    'flow-running': 'flowMinLPerMin',
    'flow-steady': 'flowSteadyMs',
    'heartbeat-fresh': 'heartbeatAgeMaxMs',
    'acid-mixed': 'mixingMs',
  }

  it.each(Object.entries(limitsOf))('makes %s refuse where it is the limit %s', (id, limit) => {
    const bench = readyBench()
    const limits = { ...bench.limits, [limit]: Number.NaN }
    const facts = factsFor(limits, bench.state, { stock: 'acid', atMs: bench.atMs })
    const row = INTERLOCKS.find((candidate) => candidate.id === id)
    expect(row?.holds({ stock: 'acid', volumeUl: 1000, planId: 'plan-1' }, facts, limits)).toBe(false)
  })
})
