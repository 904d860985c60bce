import { describe, expect, it } from 'vitest'
import type { Limits } from '../../src/safety/limits.ts'
import { onReadings, type RoleReading } from '../../src/safety/on-readings.ts'
import { Bench, MINUTE, readyBench, SECOND } from './bench.ts'
import { effectLimits } from './effect-bench.ts'

const LEVEL: RoleReading = { id: 'level-1', role: 'level', value: 210, quality: 'good' }
const EC: RoleReading = { id: 'ec-1', role: 'conductivity', value: 1.8, quality: 'good' }

function told(bench: Bench, readings: readonly RoleReading[], node = 'bench'): Bench {
  bench.atMs += SECOND
  bench.take(onReadings(bench.limits, bench.state, { atMs: bench.atMs, node, readings }))
  return bench
}

/** How many readings of conductivity are kept to see effects by, and what they sum to. */
function seen({ state }: Bench): { readonly count: number; readonly sum: number } {
  const sumOf = (of: 'count' | 'sum') => state.effectBins.reduce((sum, bin) => sum + bin[of], 0)
  return { count: sumOf('count'), sum: sumOf('sum') }
}

const fresh = (limits: Limits = effectLimits()) => told(new Bench(limits), [LEVEL])

describe('a reading of conductivity by which effects are seen', () => {
  it('is the first conductivity probe’s, wherever it stands among the probes', () => {
    const limits = effectLimits()
    const turned = { ...limits, probes: limits.probes.toReversed() }
    expect(seen(told(fresh(turned), [LEVEL, EC]))).toEqual({ count: 1, sum: 1.8 })
  })

  it('counts once: a scan that does not tell it repeats nothing', () => {
    const bench = told(fresh(), [LEVEL, EC])
    expect(seen(told(bench, [LEVEL]))).toEqual({ count: 1, sum: 1.8 })
    expect(seen(told(bench, [LEVEL, EC]))).toEqual({ count: 2, sum: 3.6 })
  })

  it('does not count while the probe calls it anything but good', () => {
    expect(seen(told(fresh(), [LEVEL, { ...EC, quality: 'uncertain' }]))).toEqual({ count: 0, sum: 0 })
  })

  it('is not missed by a scan before the first, of another node or at a site without such a probe', () => {
    expect(seen(fresh()).count).toBe(0)
    expect(seen(told(fresh(), [EC], 'elsewhere')).count).toBe(0)
    const limits = effectLimits()
    const without = { ...limits, probes: limits.probes.filter(({ role }) => role !== 'conductivity') }
    expect(seen(told(fresh(without), [LEVEL, EC])).count).toBe(0)
  })
})

describe('how long it has flowed', () => {
  it('is told of flow probes alone', () => {
    const bench = readyBench()
    expect(bench.state.readings['flow-1']?.flowingSinceMs).toBeLessThan(bench.atMs - 30 * MINUTE)
    expect(bench.state.readings['level-1']?.flowingSinceMs).toBeNull()
  })

  it('begins anew after a reading that was not good, however much it told', () => {
    const bench = readyBench()
    const flow: RoleReading = { id: 'flow-1', role: 'flow', value: 8, quality: 'good' }
    expect(told(bench, [{ ...flow, quality: 'uncertain' }]).state.readings['flow-1']?.flowingSinceMs).toBeNull()
    expect(told(bench, [flow]).state.readings['flow-1']?.flowingSinceMs).toBe(bench.atMs)
  })
})
