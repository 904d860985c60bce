import { describe, expect, it } from 'vitest'
import { type Bench, DAY, MINUTE, readyBench } from './bench.ts'
import { rationed, withRation } from './interlock-cases-ration.ts'

const NO_EC = { 'ec-1': Number.NaN }

function ready(): Bench {
  const bench = readyBench(withRation())
  rationed(bench)
  return bench
}

describe('a ration', () => {
  it('is permitted in full by all rows, and its headroom is what is permitted: not a microlitre more', () => {
    const bench = ready()
    const left = bench.headroom('nitrate')
    expect(left).toMatchObject({ shotUl: 0, rationUl: 19_000 })
    expect(bench.refusals('nitrate', 19_000)).toEqual([])
    expect(bench.refusals('nitrate', 19_001)).toEqual(['ration-day-bounded'])
    expect(bench.headroom('calcium').rationUl).toBe(0)
    expect(bench.headroom('acid').rationUl).toBe(0)
  })

  it('leaves a plan’s shot refused, whoever approved a ration', () => {
    const bench = ready()
    bench.purpose = undefined
    expect(bench.refusals('nitrate')).toContain('probe-in-range')
    expect(bench.headroom('nitrate').blockedBy).toContain('probe-in-range')
  })

  it('counts like any dose, and its record says what it was for', () => {
    const bench = ready()
    bench.mustWish('nitrate', 5000)
    expect(bench.headroom('nitrate').dayUl).toBe(700_000 - 5000)
    expect(bench.records.at(-1)).toMatchObject({ figures: { purpose: 'ration', lost: 'ec-1' } })
  })

  it('outlives a restart, and ends by itself after its days', () => {
    const bench = ready()
    bench.start(2)
    bench.status()
    bench.pass(20 * MINUTE, NO_EC)
    bench.meter(110)
    expect(bench.refusals('nitrate')).toEqual([])
    const approvedAtMs = bench.state.ration?.atMs ?? Number.NaN
    bench.atMs = approvedAtMs + 3 * DAY
    expect(bench.refusals('nitrate')).not.toContain('ration-approved')
    bench.atMs += 1
    expect(bench.refusals('nitrate')).toContain('ration-approved')
  })

  it('is not approved without a reason, nor where the limits have none', () => {
    const bench = readyBench(withRation())
    expect(bench.instruct({ instruction: 'ration', decision: 'approve' }, ' ')).toMatchObject([
      { kind: 'instruction-refused', instruction: 'ration' },
    ])
    expect(bench.state.ration).toBeNull()
    expect(readyBench().instruct({ instruction: 'ration', decision: 'approve' })).toMatchObject([
      { kind: 'instruction-refused', instruction: 'ration' },
    ])
  })
})
