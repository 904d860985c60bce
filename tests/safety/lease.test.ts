import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import { Bench, readyBench } from './bench.ts'

const leases = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'lease')

describe('the lease of a node', () => {
  it('is given once its node is heard, and not told again while nothing changes', () => {
    const bench = new Bench()
    expect(leases(bench.start())).toEqual([])
    expect(leases(bench.status())).toMatchObject([{ node: 'bench', allowed: true }])
    expect(leases(bench.status())).toEqual([])
    expect(leases(bench.beat())).toEqual([])
  })

  const withdrawals: readonly [
    string,
    (bench: Bench) => readonly Happening[],
    (bench: Bench) => readonly Happening[],
  ][] = [
    [
      'held by ines: a test',
      (bench) => bench.instruct({ instruction: 'hold' }),
      (bench) => bench.instruct({ instruction: 'release' }),
    ],
    [
      'the mode is observe',
      (bench) => bench.instruct({ instruction: 'mode', mode: 'observe' }),
      (bench) => bench.instruct({ instruction: 'mode', mode: 'advise' }),
    ],
    [
      'the ledger’s disk cannot be written',
      (bench) => bench.edge({ edge: 'disk', writable: false }),
      (bench) => bench.edge({ edge: 'disk', writable: true }),
    ],
    [
      'the link to the nodes is down',
      (bench) => bench.edge({ edge: 'link', up: false }),
      (bench) => bench.edge({ edge: 'link', up: true }),
    ],
    [
      'the clock is not to be trusted',
      (bench) => bench.edge({ edge: 'clock', sane: false }),
      (bench) => bench.edge({ edge: 'clock', sane: true }),
    ],
    ['the node is not online', (bench) => bench.status(false), (bench) => bench.status()],
    [
      'the node speaks another version of the contract',
      (bench) => bench.status(true, bench.boot, 2),
      (bench) => bench.status(),
    ],
  ]

  it.each(withdrawals)('is withdrawn because %s, and given again after', (why, withdraw, restore) => {
    const bench = readyBench()
    expect(leases(withdraw(bench))).toEqual([{ kind: 'lease', node: 'bench', allowed: false, why }])
    expect(leases(restore(bench))).toMatchObject([{ allowed: true }])
  })

  it('is withdrawn by a trip', () => {
    const bench = readyBench()
    bench.run('pump-1', 1)
    expect(leases(bench.beat())).toMatchObject([{ allowed: false, why: expect.stringContaining('pump-ran-alone') }])
  })

  it('is withdrawn when the node starts anew, until it has told its contract again', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    expect(leases(bench.beat())).toMatchObject([{ allowed: false }])
    expect(leases(bench.status())).toMatchObject([{ allowed: true }])
  })

  it('is not given under a term that was used before', () => {
    const bench = readyBench()
    bench.start(1)
    expect(leases(bench.status())).toEqual([])
  })
})
