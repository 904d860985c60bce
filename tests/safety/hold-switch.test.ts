import { describe, expect, it } from 'vitest'
import { adoptBoot, isPastBoot } from '../../src/safety/node-boot.ts'
import { sanitised, withSwitch } from './arrangement.ts'
import { MINUTE, readyBench, SECOND } from './bench.ts'

const lease = (bench: ReturnType<typeof readyBench>) => bench.state.nodes['bench']?.lease.allowed

describe('the hold switch at the reservoir', () => {
  it('takes the lease the moment it is turned, and gives it back when it is turned off', () => {
    const bench = readyBench(withSwitch())
    expect(lease(bench)).toBe(true)
    bench.scan({ 'switch-1': 1 })
    expect(lease(bench)).toBe(false)
    bench.scan({ 'switch-1': 0 })
    expect(lease(bench)).toBe(true)
  })

  it('takes the lease when it is no longer read', () => {
    const bench = readyBench(withSwitch())
    bench.atMs += 180 * SECOND
    bench.tick()
    expect(lease(bench)).toBe(true)
    bench.atMs += 1
    bench.tick()
    expect(lease(bench)).toBe(false)
  })

  it('is not overridden by a release', () => {
    const bench = readyBench(withSwitch())
    bench.scan({ 'switch-1': 1 })
    bench.instruct({ instruction: 'release' })
    expect(bench.refusals('nitrate')).toEqual(['hold-switch-open'])
  })
})

describe('sanitising', () => {
  it('gives the lease back only after rinse and probe check', () => {
    const bench = readyBench()
    sanitised(bench)
    expect(lease(bench)).toBe(false)
    bench.act('rinsed')
    bench.pass(MINUTE)
    bench.act('probe-checked')
    expect(lease(bench)).toBe(true)
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('outlives a start', () => {
    const bench = readyBench()
    bench.instruct({ instruction: 'sanitise', phase: 'begin' })
    bench.start(2)
    expect(bench.refusals('nitrate')).toContain('not-sanitising')
  })
})

describe('boots of a node', () => {
  it('are known as past after a hundred more', () => {
    let { state } = readyBench()
    for (let boot = 2; boot < 102; boot += 1) state = adoptBoot(state, 'bench', `boot-${boot}`).state
    const node = state.nodes['bench']
    expect(node !== undefined && isPastBoot(node, 'boot-1')).toBe(true)
  })
})
