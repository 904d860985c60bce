import { describe, expect, it } from 'vitest'
import { tellFigures } from '../../../src/page/views/doses/figure-words.ts'
import { LIMITS, MINUTE, readyBench } from '../../safety/bench.ts'

const RICH = {
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry) => ({
    ...entry,
    calibration: { runMaxUl: 5000, dayMaxUl: 9000 },
    contentNgPerUl: { K: 10 },
  })),
  elements: { volumeL: 100, dayMaxMgPerL: { K: 5 } },
}

describe('the figures of a verdict in words', () => {
  it('leave none of those that the gate records under the name it has there', () => {
    const bench = readyBench(RICH)
    const { figures } = bench.ask('acid', 1000).verdict
    const groups = tellFigures(figures)
    expect(groups.map(({ title }) => title)).not.toContain('Others')
    const told = groups.flatMap((group) => group.figures)
    expect(told).toHaveLength(Object.keys(figures).length)
    for (const { what } of told) expect(what).not.toMatch(/[a-z](Ul|Ms|Ng|L)$|^[a-z]+[A-Z][a-z]/)
  })

  it('tell volumes, spans, rates and masses with their units', () => {
    const told = (figures: Parameters<typeof tellFigures>[0]) =>
      tellFigures(figures).flatMap((group) => group.figures.map(({ what, told: value }) => `${what}: ${value}`))
    expect(told({ volumeUl: 12_340, gapMs: 25 * MINUTE, rateUlPerS: 500, runMs: 24_680 })).toEqual([
      'asked for: 12.3 mL',
      'run of the pump: 24.7 s',
      'the pump gives: 30 mL/min',
      'wait between two of its shots: 25 min',
    ])
    expect(told({ 'K.dayNg': 2_500_000, 'calcium.sinceMs': 10_800_000, 'ec-1.value': 1.8, heldBy: null })).toEqual([
      'K, brought within 24 h: 2.50 mg',
      'calcium, since its last shot: 3.00 h',
      'ec-1, read: 1.80',
      'held by: none',
    ])
    expect(told({ newFigureUl: 500, linkUp: true, trips: '' })).toEqual([
      'trips: none',
      'link to the nodes is up: yes',
      'newFigureUl: 0.50 mL',
    ])
  })
})
