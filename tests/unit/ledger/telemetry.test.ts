import { join } from 'node:path'
import Sqlite from 'better-sqlite3'
import { expect, it } from 'vitest'
import { LedgerFault } from '../../../src/ledger/ledger-fault.ts'
import { BATCH_MAX_MS, openTelemetry, type RawScan, RETENTION_MS } from '../../../src/ledger/telemetry.ts'
import { scratchFolder } from './scratch.ts'

const BENCH = 'quarry-lane'
const START_MS = 1_770_000_000_000

function scanAt(atMs: number, value = 1.7 + (atMs % 1000) / 3): RawScan {
  const readings = [
    { id: 'ec-1', value, unit: 'mS/cm' as const },
    { id: 'ph-1', value: 5.8, unit: '[pH]' as const, quality: 'good' as const },
  ]
  return { atMs, node: 'bench', scan: { boot: 'b1', uptimeMs: atMs - START_MS, readings } }
}

function rowsIn(path: string): number {
  const database = new Sqlite(path, { readonly: true })
  const rows = database.prepare('SELECT count(*) FROM batch').pluck().get() as number
  database.close()
  return rows
}

it('scans of two minutes become one row and come back bit for bit', async () => {
  const path = join(scratchFolder(), 'telemetry.db')
  const telemetry = await openTelemetry({ path })
  const scans = Array.from({ length: 25 }, (_, index) => scanAt(START_MS + index * 5000))
  for (const scan of scans.slice(0, 24)) await telemetry.record(BENCH, scan)
  expect(rowsIn(path)).toBe(0)
  expect(telemetry.read(BENCH, START_MS, START_MS + BATCH_MAX_MS)).toEqual(scans.slice(0, 24))
  await telemetry.record(BENCH, scans[24]!)
  expect(rowsIn(path)).toBe(1)
  expect(telemetry.read(BENCH, START_MS, START_MS + BATCH_MAX_MS)).toEqual(scans)
  expect(telemetry.read(BENCH, START_MS + 5000, START_MS + 10_000)).toEqual(scans.slice(1, 3))
  await telemetry.close()
})

it('a probe that fell silent is written by the clock, and by closing', async () => {
  const path = join(scratchFolder(), 'telemetry.db')
  const telemetry = await openTelemetry({ path })
  await telemetry.record(BENCH, scanAt(START_MS))
  await telemetry.flushIfDue(START_MS + BATCH_MAX_MS - 1)
  expect(rowsIn(path)).toBe(0)
  await telemetry.flushIfDue(START_MS + BATCH_MAX_MS)
  expect(rowsIn(path)).toBe(1)
  await telemetry.record(BENCH, scanAt(START_MS + BATCH_MAX_MS))
  await telemetry.close()
  expect(rowsIn(path)).toBe(2)
})

it('batches older than 35 days go', async () => {
  const path = join(scratchFolder(), 'telemetry.db')
  const telemetry = await openTelemetry({ path })
  for (const atMs of [START_MS, START_MS + RETENTION_MS, START_MS + RETENTION_MS + 1]) {
    await telemetry.record(BENCH, scanAt(atMs))
    await telemetry.flush()
  }
  expect(telemetry.read(BENCH, 0, Number.MAX_SAFE_INTEGER).map((raw) => raw.atMs)).toEqual([
    START_MS + RETENTION_MS,
    START_MS + RETENTION_MS + 1,
  ])
  await telemetry.close()
})

it('a full disk is told, and the scans wait for room', async () => {
  const path = join(scratchFolder(), 'telemetry.db')
  const telemetry = await openTelemetry({ path, pageCountMax: 6 })
  const scans = Array.from({ length: 2000 }, (_, index) => scanAt(START_MS + index * 7, Math.sin(index)))
  for (const scan of scans) await telemetry.record(BENCH, scan)
  await expect(telemetry.flush()).rejects.toThrow(LedgerFault)
  expect(telemetry.read(BENCH, 0, Number.MAX_SAFE_INTEGER)).toEqual(scans)
  await expect(telemetry.close()).rejects.toThrow(/disk is full/)
})
