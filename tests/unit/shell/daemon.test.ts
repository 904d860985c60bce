import { mkdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { LeaseMessage, NodeMessage } from '../../../src/contract/message.ts'
import { LedgerFault } from '../../../src/ledger/ledger-fault.ts'
import { SqliteLedger } from '../../../src/ledger/sqlite-ledger.ts'
import { Telemetry } from '../../../src/ledger/telemetry.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import { type Daemon, startDaemon } from '../../../src/shell/daemon.ts'
import { createLog } from '../../../src/shell/log.ts'
import type { NodeLink, NodeLinkHandlers } from '../../../src/shell/node-link.ts'
import { OwnedElsewhere } from '../../../src/shell/stores.ts'
import { NODE, START_MS } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { scratchFolder } from '../ledger/scratch.ts'

const TICK_MS = 10_000
const FULL = new LedgerFault('full', 'the disk is full')

let configuration: Configuration
beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

const running: Daemon[] = []
afterEach(async () => {
  vi.restoreAllMocks()
  for (const daemon of running.splice(0)) await daemon.stop()
})

class Link implements NodeLink {
  readonly leases: LeaseMessage[] = []
  /** whom they went to */
  readonly leased = new Set<string>()
  handlers: NodeLinkHandlers | undefined
  isClosed = false

  start(handlers: NodeLinkHandlers): void {
    this.handlers = handlers
    handlers.onLink(true)
  }

  async sendCommand(): Promise<'sent'> {
    return 'sent'
  }

  sendLease(node: string, lease: LeaseMessage): void {
    this.leased.add(node)
    this.leases.push(lease)
  }

  async close(): Promise<void> {
    this.isClosed = true
  }

  says(message: NodeMessage, node = NODE): void {
    this.handlers!.onMessage(node, message)
  }
}

async function started(stateFolder = scratchFolder(), startMs = START_MS) {
  const clock = createLockstepClock(startMs)
  const link = new Link()
  const fatal: { why: string; kind: string }[] = []
  const lines: string[] = []
  const daemon = await startDaemon({
    ...{ configuration, stateFolder, clock, link, version: 'test', leaseMs: 15_000, tickMs: TICK_MS, writesHere: true },
    log: createLog({ pretty: false, destination: { write: (line: string) => void lines.push(line) } }),
    onFatal: (why, kind) => fatal.push({ why, kind }),
  })
  running.push(daemon)
  return { daemon, clock, link, fatal, lines, stateFolder }
}

/** The node as it comes online: its first words, at an uptime of a minute. */
async function nodeComesUp({ daemon, link }: Awaited<ReturnType<typeof started>>): Promise<void> {
  const pumps = configuration.site.stocks.map(({ pump: id }) => ({ id, maxRunMs: 180_000 }))
  const totals = pumps.map(({ id }) => ({ id, totalRunMs: 0, doubtMs: 0 }))
  link.says({ kind: 'heartbeat', message: { boot: 'b', uptimeMs: 60_000, term: 1, pumps: totals } })
  link.says({ kind: 'status', message: { contract: 1, online: true, boot: 'b', pumps } })
  await daemon.loop.idle()
}

const SCAN: NodeMessage = {
  kind: 'scan',
  message: { boot: 'b', uptimeMs: 60_000, readings: [{ id: 'ec-1', value: 1.7, unit: 'mS/cm' }] },
}

describe('a daemon', () => {
  it('gives a node that comes online a lease, and takes it back when it stops', async () => {
    const site = await started()
    await nodeComesUp(site)
    expect(site.link.leases.at(-1)).toMatchObject({ term: 1, boot: 'b', untilUptimeMs: 75_000 })
    await running.pop()!.stop()
    expect(site.link.leases.at(-1)).toMatchObject({ boot: 'b', untilUptimeMs: 0 })
    expect(site.link.isClosed).toBe(true)
    expect(site.clock.nextTimerInMs()).toBeUndefined()
  })

  it('of a reservoir that is kept already does not start, and says which daemon keeps it', async () => {
    const { stateFolder } = await started()
    const second = started(stateFolder)
    await expect(second).rejects.toThrow(OwnedElsewhere)
    await expect(second).rejects.toThrow(
      /^tarnward-quarry-lane-[0-9a-f]{6} keeps quarry-lane already; stop that one first$/,
    )
  })

  it('that cannot open a file lets go of those it had opened', async () => {
    const folder = scratchFolder()
    mkdirSync(join(folder, 'telemetry.db'))
    await expect(started(folder)).rejects.toThrow(LedgerFault)
    rmSync(join(folder, 'telemetry.db'), { recursive: true })
    await expect(started(folder)).resolves.toBeDefined()
  })

  it('lets go of lock and link even where the last readings cannot be written', async () => {
    const { stateFolder, link } = await started()
    vi.spyOn(Telemetry.prototype, 'flush').mockImplementation(() => {
      throw FULL
    })
    await expect(running.pop()!.stop()).rejects.toThrow('the disk is full')
    expect(link.isClosed).toBe(true)
    vi.restoreAllMocks()
    await expect(started(stateFolder)).resolves.toBeDefined()
  })

  it('raises its term at every start', async () => {
    const { stateFolder } = await started()
    await running.pop()!.stop()
    const again = await started(stateFolder)
    expect(again.daemon.loop.state.safety.term).toBe(2)
  })
})

describe('nodes that the site file does not declare', () => {
  const REFUSED = { boot: 'b', uptimeMs: 60_000, state: 'refused', ranMs: 0, totalRunMs: 0, reason: 'no' } as const
  const HEARTBEAT = { boot: 'b', uptimeMs: 60_000, term: 1, pumps: [] }
  const STATUS = { contract: 1, online: true, boot: 'b' } as const

  it('leave nothing behind, however many there are: no lease, no record, no reading, no place in the queue', async () => {
    const site = await started()
    await nodeComesUp(site)
    const { daemon, link, clock } = site
    const ask = vi.spyOn(daemon.loop, 'ask')
    const keepRaw = vi.spyOn(Telemetry.prototype, 'record')
    const append = vi.spyOn(SqliteLedger.prototype, 'append')
    const before = JSON.stringify(daemon.loop.state)
    for (let at = 0; at < 2000; at++) {
      const node = `invented-${at}`
      link.says({ kind: 'status', message: STATUS }, node)
      link.says({ kind: 'heartbeat', message: HEARTBEAT }, node)
      link.says(SCAN, node)
      link.says({ kind: 'report', pump: 'pump-1', message: { ...REFUSED, id: `x-${at}` } }, node)
    }
    await daemon.loop.idle()
    expect(ask).not.toHaveBeenCalled()
    expect(keepRaw).not.toHaveBeenCalled()
    expect(append).not.toHaveBeenCalled()
    expect(JSON.stringify(daemon.loop.state)).toBe(before)
    link.handlers?.onLink(true)
    await clock.advance(60_000)
    expect([...link.leased]).toEqual([NODE])
  })

  it('are told once by name, and beyond eight names once for all', async () => {
    const { daemon, link, lines } = await started()
    for (let at = 0; at < 200; at++) link.says({ kind: 'status', message: STATUS }, `invented-${at % 100}`)
    const told = daemon.view.recentEvents(500).filter(({ kind }) => kind === 'unknown-node')
    expect(told.map(({ text }) => text.slice(0, 28))).toEqual([
      ...[0, 1, 2, 3, 4, 5, 6, 7].map((at) => `Node "invented-${at}" is not in t`.slice(0, 28)),
      'More than 8 nodes that are n',
    ])
    expect(lines.filter((line) => line.includes('unknown-node'))).toHaveLength(9)
  })
})

describe('a full disk', () => {
  it('at the start is met again at every tick, and nothing may run before a start is kept', async () => {
    const append = vi.spyOn(SqliteLedger.prototype, 'append').mockRejectedValue(FULL)
    const site = await started()
    await nodeComesUp(site)
    expect(site.daemon.loop.state.safety.diskWritable).toBe(false)
    expect(site.link.leases.every(({ untilUptimeMs }) => untilUptimeMs === 0)).toBe(true)
    append.mockRestore()
    site.clock.advance(TICK_MS)
    await site.daemon.loop.idle()
    expect(site.daemon.loop.state.safety).toMatchObject({ started: true, diskWritable: true, term: 2 })
    const totals = configuration.site.stocks.map(({ pump: id }) => ({ id, totalRunMs: 0, doubtMs: 0 }))
    site.link.says({ kind: 'heartbeat', message: { boot: 'b', uptimeMs: 75_000, term: 1, pumps: totals } })
    await site.daemon.loop.idle()
    const last = site.link.leases.at(-1)
    expect(last).toMatchObject({ term: 2, boot: 'b' })
    expect(last?.untilUptimeMs).toBeGreaterThan(60_000)
  })

  it('that takes no raw readings costs the loop no scan', async () => {
    const { daemon, link, lines } = await started()
    vi.spyOn(Telemetry.prototype, 'record').mockImplementation(() => {
      throw FULL
    })
    link.says(SCAN)
    await daemon.loop.idle()
    expect(daemon.loop.state.safety.readings['ec-1']?.value).toBe(1.7)
    expect(lines.join('')).toContain('raw readings cannot be kept for now')
  })

  it('that does not even say how much room it has leaves the daemon running', async () => {
    const { daemon, clock, lines } = await started()
    vi.spyOn(SqliteLedger.prototype, 'freeBytes').mockRejectedValue(new Error('no such device'))
    clock.advance(TICK_MS)
    await expect.poll(() => lines.join('')).toContain('the ledger’s disk does not answer: no such device')
    expect(daemon.view.alive()).toBe(true)
  })
})

describe('a disk that hangs', () => {
  it('costs every node its lease at its next heartbeat, though the append never comes back', async () => {
    const site = await started()
    await nodeComesUp(site)
    let answer = () => {}
    const append = vi.spyOn(SqliteLedger.prototype, 'append').mockImplementation(
      () =>
        new Promise((done) => {
          answer = () => done('fenced')
        }),
    )
    void site.daemon.loop.take({
      ...{ kind: 'instruction', by: 'Ines', reason: 'a test' },
      instruction: { instruction: 'acknowledge', alarm: 'none' },
    })
    await expect.poll(() => append.mock.calls.length).toBe(1)
    site.clock.advance(5001)
    const totals = configuration.site.stocks.map(({ pump: id }) => ({ id, totalRunMs: 0, doubtMs: 0 }))
    site.link.says({ kind: 'heartbeat', message: { boot: 'b', uptimeMs: 65_000, term: 1, pumps: totals } })
    expect(site.link.leases.at(-1)).toMatchObject({ boot: 'b', untilUptimeMs: 0 })
    answer()
    await site.daemon.loop.idle()
  })
})

describe('a daemon that may not go on', () => {
  it('because of a fault of its own ends, and its next start is held', async () => {
    const site = await started()
    await nodeComesUp(site)
    await site.daemon.loop.fail(new Error('a covariance that is not one'))
    expect(site.fatal).toEqual([
      { kind: 'broken', why: expect.stringMatching(/fault of its own.*not one.*held until a person/) },
    ])
    expect(site.link.leases.at(-1)?.untilUptimeMs).toBe(0)
    expect(site.daemon.view.alive()).toBe(false)
    await running.pop()!.stop()
    const again = await started(site.stateFolder, START_MS + 60_000)
    await nodeComesUp(again)
    expect(again.daemon.view.status()).toMatchObject({ held: true, mode: 'automatic' })
    expect(again.daemon.view.status().sentence).toMatch(/on hold by tarnward: .*a covariance that is not one/)
    expect(again.link.leases.every(({ untilUptimeMs }) => untilUptimeMs === 0)).toBe(true)
  })

  it('because another has the reservoir ends as well, without a hold', async () => {
    const site = await started()
    vi.spyOn(SqliteLedger.prototype, 'append').mockResolvedValue('fenced')
    await nodeComesUp(site)
    expect(site.fatal).toEqual([{ kind: 'taken-over', why: 'another daemon has taken the reservoir over' }])
    expect(site.daemon.view.alive()).toBe(false)
  })
})
