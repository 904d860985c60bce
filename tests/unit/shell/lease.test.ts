import { describe, expect, it } from 'vitest'
import type { LeaseMessage } from '../../../src/contract/message.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import { createLeaseKeeper, leaseScaleFault } from '../../../src/shell/lease.ts'

function keeper() {
  const clock = createLockstepClock(0)
  const sent: [string, LeaseMessage][] = []
  const loop = { healthy: true }
  const leases = createLeaseKeeper({
    clock,
    link: { sendLease: (node, lease) => sent.push([node, lease]) },
    controller: 'daemon-1',
    term: () => 7,
    leaseMs: 15_000,
    loopHealthy: () => loop.healthy,
  })
  return { clock, sent, loop, leases, untils: () => sent.splice(0).map(([, lease]) => lease.untilUptimeMs) }
}

describe('leases', () => {
  it('are renewed every third from the uptime last heard, and name this controller, term and boot', () => {
    const { clock, sent, leases, untils } = keeper()
    leases.heard('bench', 'b1', 60_000)
    untils()
    leases.allow('bench')
    expect(sent).toEqual([['bench', { controller: 'daemon-1', term: 7, boot: 'b1', untilUptimeMs: 75_000 }]])
    clock.advance(4999)
    expect(sent).toHaveLength(1)
    leases.heard('bench', 'b1', 65_000)
    clock.advance(1)
    expect(untils()).toEqual([75_000, 80_000])
  })

  it('do not reach further while no heartbeat is heard', () => {
    const { clock, leases, untils } = keeper()
    leases.heard('bench', 'b1', 60_000)
    leases.allow('bench')
    untils()
    clock.advance(30_000)
    expect(new Set(untils())).toEqual(new Set([75_000]))
  })

  it('stop being renewed while the loop is behind, and go on when it is well', () => {
    const { clock, loop, leases, untils } = keeper()
    leases.heard('bench', 'b1', 0)
    leases.allow('bench')
    untils()
    loop.healthy = false
    clock.advance(20_000)
    expect(untils(), 'one withdrawal, no renewal').toEqual([0])
    loop.healthy = true
    clock.advance(5000)
    expect(untils()).toEqual([15_000])
  })

  it('are withdrawn at the next heartbeat of a node while the loop hangs, whoever else cannot speak, and once only', () => {
    const { loop, leases, untils } = keeper()
    leases.heard('bench', 'b1', 0)
    leases.allow('bench')
    untils()
    loop.healthy = false
    leases.heard('bench', 'b1', 5000)
    leases.heard('bench', 'b1', 10_000)
    expect(untils()).toEqual([0])
    leases.heard('bench', 'b2', 100)
    expect(untils(), 'a new boot is told as well').toEqual([0])
  })

  it('are withdrawn at once, even while the loop is behind, and never renewed after', () => {
    const { clock, loop, leases, untils } = keeper()
    leases.heard('bench', 'b1', 1000)
    leases.allow('bench')
    untils()
    loop.healthy = false
    leases.withdraw('bench')
    expect(untils()).toEqual([0])
    loop.healthy = true
    clock.advance(60_000)
    expect(untils()).toEqual([])
  })

  it('are said again when the link comes back, withdrawals included', () => {
    const { leases, sent } = keeper()
    leases.heard('bench', 'b1', 1000)
    leases.heard('loft', 'b9', 2000)
    leases.allow('bench')
    leases.withdraw('loft')
    sent.length = 0
    leases.linkUp()
    expect(sent.map(([node, lease]) => [node, lease.untilUptimeMs])).toEqual([
      ['loft', 0],
      ['bench', 16_000],
    ])
  })

  it('meet a node that was never allowed, or has booted anew, with what holds now', () => {
    const { leases, sent } = keeper()
    leases.heard('bench', 'b1', 1000)
    expect(sent.at(-1)?.[1]).toMatchObject({ boot: 'b1', untilUptimeMs: 0 })
    leases.allow('bench')
    leases.heard('bench', 'b2', 10)
    expect(sent.at(-1)?.[1]).toMatchObject({ boot: 'b2', untilUptimeMs: 15_010 })
  })

  it('end with the daemon: all nodes get 0 and no timer is left', () => {
    const { clock, leases, untils } = keeper()
    leases.heard('bench', 'b1', 1000)
    leases.allow('bench')
    untils()
    leases.stop()
    expect(untils()).toEqual([0])
    expect(clock.nextTimerInMs()).toBeUndefined()
  })

  it('are given to no node any more once they have ended, whatever the loop still finishes', () => {
    const { leases, untils } = keeper()
    leases.heard('bench', 'b1', 1000)
    leases.stop()
    untils()
    leases.allow('bench')
    expect(untils()).toEqual([])
  })

  it('too short in wall time are refused in words', () => {
    expect(leaseScaleFault(15_000, 60)).toBeUndefined()
    expect(leaseScaleFault(15_000, 61)).toMatch(/at most 60 times, or run in lockstep/)
  })
})
