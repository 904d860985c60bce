import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { LedgerEntry } from '../../../src/ledger/port.ts'
import { BOOK_MS } from '../../../src/reservoir/recover.ts'
import { encodeSnapshot } from '../../../src/reservoir/snapshot.ts'
import { initialReservoirState, type ReservoirState } from '../../../src/reservoir/state.ts'
import { openReservoir } from '../../../src/shell/open-reservoir.ts'
import { DAY_MS, HOUR_MS, LoopBench, MINUTE_MS, recordsOf } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { MemoryLedger } from './memory-ledger.ts'

const HASH = 'of this configuration'
const SITE = 'quarry-lane'

let configuration: Configuration
beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

/** A bench that lived some hours, with its records in a ledger and a snapshot of the middle. */
async function lived(hours: number) {
  const bench = new LoopBench(configuration)
  const ledger = new MemoryLedger()
  bench.start()
  bench.minutes((hours * 60) / 2)
  await keep(ledger, recordsOf(bench.log.splice(0)))
  const middle = {
    sequence: ledger.entries.length,
    atMs: bench.nowMs,
    bytes: encodeSnapshot(bench.state, HASH),
    state: bench.state,
  }
  bench.minutes((hours * 60) / 2)
  await keep(ledger, recordsOf(bench.log.splice(0)))
  return { bench, ledger, middle, open: () => openReservoir(ledger, SITE, bench.settings, HASH, bench.nowMs) }
}

async function keep(ledger: MemoryLedger, records: ReturnType<typeof recordsOf>): Promise<void> {
  const entries = records.map((record): LedgerEntry => ({ ...record, json: JSON.stringify(record) }))
  await ledger.append(SITE, 1, ledger.entries.length, entries)
}

describe('opening a reservoir', () => {
  it('with a new ledger begins anew', async () => {
    const { settings } = new LoopBench(configuration)
    const opened = await openReservoir(new MemoryLedger(), SITE, settings, HASH, 0)
    expect(opened).toEqual({ state: initialReservoirState(settings), headSequence: 0, note: 'a new ledger' })
  })

  it('believes the same from the records alone as from a snapshot and the records since', async () => {
    const { bench, ledger, middle, open } = await lived(6)
    const fromRecords = await open()
    await ledger.putSnapshot(SITE, middle)
    const fromSnapshot = await open()
    expect(fromSnapshot.note).toBe(`${ledger.entries.length - middle.sequence} records since the last snapshot`)
    expect(fromSnapshot.headSequence).toBe(ledger.entries.length)
    const beliefs = [bench.state, fromRecords.state, fromSnapshot.state].map(({ core }) => core!.history.filter.mean)
    expect(beliefs[1]).toEqual(beliefs[0])
    expect(beliefs[2]).toEqual(beliefs[0])
  })

  it('knows what was delivered, from before the snapshot as well', async () => {
    const { bench, ledger, middle, open } = await lived(6)
    await ledger.putSnapshot(SITE, middle)
    const { state } = await open()
    const volumes = ({ safety }: ReservoirState) =>
      Object.entries(safety.book.stocks).map(([stock, { rows }]) => [stock, rows.map(({ highUl }) => highUl)])
    const beforeSnapshot = middle.state.safety.book.stocks
    expect(Object.values(beforeSnapshot).flatMap(({ rows }) => rows).length).toBeGreaterThan(0)
    expect(volumes(state)).toEqual(volumes(bench.state))
  })

  it('of another configuration says so and begins from the records', async () => {
    const { bench, ledger, middle } = await lived(2)
    await ledger.putSnapshot(SITE, middle)
    const opened = await openReservoir(ledger, SITE, bench.settings, 'another', bench.nowMs)
    expect(opened.note).toMatch(/the snapshot belongs to another configuration/)
    expect(opened.state.core).not.toBeNull()
  })

  it('reads only the last day of a ledger of years', async () => {
    const { settings } = new LoopBench(configuration)
    const ledger = new MemoryLedger()
    const days = 3 * 365
    const events = Array.from({ length: days * 24 }, (_, hour): LedgerEntry => {
      const record = { kind: 'event' as const, atMs: (hour + 1) * HOUR_MS, event: 'test', text: '' }
      return { ...record, json: JSON.stringify(record) }
    })
    await ledger.append(SITE, 1, 0, events)
    const bytes = encodeSnapshot(initialReservoirState(settings), HASH)
    await ledger.putSnapshot(SITE, { sequence: events.length, atMs: days * DAY_MS, bytes })
    const opened = await openReservoir(ledger, SITE, settings, HASH, days * DAY_MS + MINUTE_MS)
    expect(opened.note).toBe('0 records since the last snapshot')
    const paged = ledger.asked.filter(({ limit }) => limit > 1)
    expect(paged).toHaveLength(1)
    const [page] = paged
    expect(events.length - page!.after).toBeGreaterThanOrEqual(BOOK_MS / HOUR_MS)
    expect(events.length - page!.after).toBeLessThanOrEqual(BOOK_MS / HOUR_MS + 1)
    expect(ledger.asked.length).toBeLessThan(20)
  })
})
