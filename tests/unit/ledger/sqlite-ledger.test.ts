import { copyFileSync, existsSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Sqlite from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { LedgerFault, type LedgerFaultReason, toLedgerFault } from '../../../src/ledger/ledger-fault.ts'
import { LEDGER_SCHEMA, type Migration, type Schema } from '../../../src/ledger/schema.ts'
import { openSqliteLedger, type SqliteLedger, type SqliteLedgerOptions } from '../../../src/ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../../../src/ledger/sqlite-ownership.ts'
import { doseEntry, scratchFolder } from './scratch.ts'

const BENCH = 'quarry-lane'

async function openAt(path: string, more: Partial<SqliteLedgerOptions> = {}): Promise<SqliteLedger> {
  return openSqliteLedger({ path, ballastBytes: 0, ...more })
}

/** A ledger that this test owns, with its term. */
async function ownedAt(path: string, more: Partial<SqliteLedgerOptions> = {}) {
  const ledger = await openAt(path, more)
  const ownership = createSqliteOwnership(ledger)
  const claim = await ownership.claim(BENCH, 'daemon-1')
  if (!('term' in claim)) throw new Error(`held by ${claim.heldBy}`)
  return { ledger, ownership, term: claim.term }
}

async function faultOf(work: Promise<unknown>): Promise<LedgerFaultReason> {
  const error = await work.then(
    () => undefined,
    (caught: unknown) => caught,
  )
  if (!(error instanceof LedgerFault)) throw new Error(`expected a LedgerFault, got ${String(error)}`)
  return error.reason
}

/** Changes the closed file as someone with a database browser would. */
function tamper(path: string, sql: string): void {
  const database = new Sqlite(path)
  database.exec(sql)
  database.close()
}

describe('a ledger', () => {
  it('syncs every commit, also after it was closed and opened again', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const first = await openAt(path)
    expect(first.durability()).toEqual({ journalMode: 'wal', synchronous: 2 })
    await first.close()
    const again = await openAt(path)
    expect(again.durability()).toEqual({ journalMode: 'wal', synchronous: 2 })
    await again.close()
  })

  it('gives back what was appended, in order and from where it is asked', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term } = await ownedAt(path)
    expect(await ledger.append(BENCH, term, 0, [doseEntry(1), doseEntry(2), doseEntry(3)])).toBe(3)
    expect(await ledger.append(BENCH, term, 3, [doseEntry(4)])).toBe(4)
    await ledger.close()
    const again = await openAt(path)
    expect(await again.read(BENCH, 0)).toEqual([1, 2, 3, 4].map((n) => ({ ...doseEntry(n), sequence: n })))
    expect((await again.read(BENCH, 1, 2)).map((entry) => entry.sequence)).toEqual([2, 3])
    expect(await again.head(BENCH)).toMatchObject({ sequence: 4, atMs: doseEntry(4).atMs })
    await again.close()
  })

  it('fences an old daemon, a daemon nobody let in, and one that has missed an entry', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, ownership, term } = await ownedAt(path)
    expect(await ledger.append(BENCH, term, 0, [doseEntry(1)])).toBe(1)
    const next = await ownership.claim(BENCH, 'daemon-2')
    expect(next).toEqual({ term: term + 1 })
    expect(await ledger.append(BENCH, term, 1, [doseEntry(2)])).toBe('fenced')
    expect(await ledger.append(BENCH, term + 2, 1, [doseEntry(2)])).toBe('fenced')
    expect(await ledger.append(BENCH, term + 1, 0, [doseEntry(2)])).toBe('fenced')
    expect(await ledger.append('another-lane', term + 1, 0, [doseEntry(2)])).toBe('fenced')
    expect((await ledger.head(BENCH)).sequence).toBe(1)
    await ledger.close()
  })

  it('keeps all entries of an append or none: a record that is no JSON takes its neighbours with it', async () => {
    const { ledger, term } = await ownedAt(join(scratchFolder(), 'ledger.db'))
    const spoilt = { ...doseEntry(2), json: '{' }
    await expect(ledger.append(BENCH, term, 0, [doseEntry(1), spoilt])).rejects.toThrow(/CHECK/)
    await expect(ledger.append(BENCH, term, 0, [doseEntry(1), { ...doseEntry(2), atMs: Number.NaN }])).rejects.toThrow(
      TypeError,
    )
    expect(await ledger.read(BENCH, 0)).toEqual([])
    expect(await ledger.append(BENCH, term, 0, [doseEntry(1)])).toBe(1)
    await ledger.close()
  })
})

describe('the chain', () => {
  async function chainOf(count: number) {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term } = await ownedAt(path)
    await ledger.append(
      BENCH,
      term,
      0,
      Array.from({ length: count }, (_, index) => doseEntry(index + 1)),
    )
    const published = await ledger.head(BENCH)
    expect(await ledger.verifyChain(BENCH, { published })).toEqual({
      kind: 'whole',
      sequence: count,
      hash: published.hash,
    })
    await ledger.putSnapshot(BENCH, { sequence: 5, atMs: 1, bytes: new Uint8Array([5]) })
    await ledger.close()
    return { path, published }
  }

  const verdictAfter = async (path: string, check?: Parameters<SqliteLedger['verifyChain']>[1]) => {
    const ledger = await openAt(path)
    const verdict = await ledger.verifyChain(BENCH, check)
    await ledger.close()
    return verdict
  }

  it.each([
    ['a changed record', `UPDATE entry SET json = '{"commandId":"shot-7","padding":"x"}' WHERE sequence = 7`, 7],
    ['a changed time', 'UPDATE entry SET at_ms = at_ms + 1 WHERE sequence = 7', 7],
    ['a changed kind', `UPDATE entry SET kind = 'settled' WHERE sequence = 7`, 7],
    ['a record taken out', 'DELETE FROM entry WHERE sequence = 7', 7],
    [
      'two records swapped',
      'UPDATE entry SET sequence = 99 WHERE sequence = 7; UPDATE entry SET sequence = 7 WHERE sequence = 8; UPDATE entry SET sequence = 8 WHERE sequence = 99',
      7,
    ],
    [
      'a head moved back to hide the last record',
      'UPDATE reservoir SET head_sequence = 11, head_hash = (SELECT hash FROM entry WHERE sequence = 11)',
      12,
    ],
  ])('names the first broken sequence of %s', async (_what, sql, sequence) => {
    const { path } = await chainOf(12)
    tamper(path, sql)
    expect(await verdictAfter(path)).toEqual({ kind: 'broken', sequence })
  })

  it('finds a cut tail by its own head', async () => {
    const { path } = await chainOf(12)
    tamper(path, 'DELETE FROM entry WHERE sequence > 9')
    expect(await verdictAfter(path)).toEqual({ kind: 'cut', endsAt: 9, head: 12 })
  })

  it('finds a cut tail whose head was rewritten too, by the head published elsewhere', async () => {
    const { path, published } = await chainOf(12)
    tamper(path, 'DELETE FROM entry WHERE sequence > 9')
    tamper(path, 'UPDATE reservoir SET head_sequence = 9, head_hash = (SELECT hash FROM entry WHERE sequence = 9)')
    expect(await verdictAfter(path)).toMatchObject({ kind: 'whole', sequence: 9 })
    expect(await verdictAfter(path, { published })).toEqual({ kind: 'cut', endsAt: 9, head: 12 })
  })

  it('verified from a snapshot holds its seal against the entry and leaves earlier entries alone', async () => {
    const { path } = await chainOf(12)
    tamper(path, `UPDATE entry SET kind = 'settled' WHERE sequence = 3`)
    expect(await verdictAfter(path, { afterSequence: 5 })).toMatchObject({ kind: 'whole', sequence: 12 })
    expect(await verdictAfter(path)).toEqual({ kind: 'broken', sequence: 3 })
    tamper(path, 'UPDATE snapshot SET chain_hash = zeroblob(32)')
    expect(await verdictAfter(path, { afterSequence: 5 })).toEqual({ kind: 'broken', sequence: 5 })
  })

  it('is walked whole over several slices', async () => {
    const { path, published } = await chainOf(2500)
    expect(await verdictAfter(path, { published })).toMatchObject({ kind: 'whole', sequence: 2500 })
  })
})

describe('snapshots', () => {
  it('keep the last three, and a damaged newest one is passed over', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term } = await ownedAt(path)
    await ledger.append(
      BENCH,
      term,
      0,
      [1, 2, 3, 4, 5].map((n) => doseEntry(n)),
    )
    for (const sequence of [1, 2, 3, 4])
      await ledger.putSnapshot(BENCH, { sequence, atMs: sequence, bytes: new Uint8Array([sequence]) })
    expect(await ledger.latestSnapshot(BENCH)).toEqual({ sequence: 4, atMs: 4, bytes: new Uint8Array([4]) })
    await ledger.close()
    tamper(path, `UPDATE snapshot SET bytes = x'00' WHERE sequence = 4`)
    const again = await openAt(path)
    expect((await again.latestSnapshot(BENCH))?.sequence).toBe(3)
    await again.close()
    const database = new Sqlite(path)
    expect(database.prepare('SELECT sequence FROM snapshot ORDER BY 1').pluck().all()).toEqual([2, 3, 4])
    database.close()
  })

  it('of a moment the ledger does not have are refused, and none is found where none was put', async () => {
    const { ledger } = await ownedAt(join(scratchFolder(), 'ledger.db'))
    await expect(ledger.putSnapshot(BENCH, { sequence: 9, atMs: 0, bytes: new Uint8Array() })).rejects.toThrow(
      RangeError,
    )
    expect(await ledger.latestSnapshot(BENCH)).toBeUndefined()
    await ledger.close()
  })
})

describe('a full disk', () => {
  it('is told as such, keeps nothing of the failed append, loses nothing acknowledged, and frees the ballast', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term } = await ownedAt(path, { pageCountMax: 40, ballastBytes: 100_000 })
    expect(statSync(`${path}.ballast`).size).toBe(100_000)
    let acknowledged = 0
    let fault: unknown
    while (fault === undefined && acknowledged < 1000) {
      const pair = [doseEntry(acknowledged + 1, 'x'.repeat(500)), doseEntry(acknowledged + 2, 'x'.repeat(500))]
      const head = await ledger.append(BENCH, term, acknowledged, pair).catch((error: unknown) => {
        fault = error
        return acknowledged
      })
      if (typeof head === 'number') acknowledged = head
    }
    expect(fault).toMatchObject({ name: 'LedgerFault', reason: 'full' })
    expect(String(fault)).toContain('disk is full')
    expect(statSync(`${path}.ballast`, { throwIfNoEntry: false })).toBeUndefined()
    await ledger.close()

    const again = await openAt(path)
    const kept = await again.read(BENCH, 0)
    expect(acknowledged).toBeGreaterThan(10)
    expect(kept).toHaveLength(acknowledged)
    expect(await again.verifyChain(BENCH)).toMatchObject({ kind: 'whole', sequence: acknowledged })
    expect(await again.hasReserve()).toBe(true)
    await again.close()
  })
})

describe('opening', () => {
  const addNote: Migration = {
    title: 'notes',
    up: (database) => database.exec('CREATE TABLE note (text TEXT NOT NULL) STRICT'),
  }
  const next: Schema = { ...LEDGER_SCHEMA, migrations: [...LEDGER_SCHEMA.migrations, addNote] }

  it('refuses a file of a newer version in words and leaves it as it is', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    await (await openAt(path, { schema: next })).close()
    await expect(openAt(path)).rejects.toThrow(/newer version.*schema 2, this version knows up to 1/)
    expect(await faultOf(openAt(path))).toBe('newer-schema')
    await (await openAt(path, { schema: next })).close()
  })

  it('refuses another program’s database and a text file', async () => {
    const folder = scratchFolder()
    tamper(join(folder, 'other.db'), 'CREATE TABLE song (title TEXT)')
    expect(await faultOf(openAt(join(folder, 'other.db')))).toBe('not-a-ledger')
    writeFileSync(
      join(folder, 'note.db'),
      'no database at all, and longer than the hundred bytes of a header '.repeat(4),
    )
    expect(await faultOf(openAt(join(folder, 'note.db')))).toBe('not-a-ledger')
  })

  it('tells a torn page from a full disk', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term, ownership } = await ownedAt(path)
    const entries = Array.from({ length: 200 }, (_, index) => doseEntry(index + 1, 'x'.repeat(200)))
    await ledger.append(BENCH, term, 0, entries)
    await ownership.release()
    await ledger.close()
    const bytes = readFileSync(path)
    bytes.fill(0xa5, 4096)
    writeFileSync(path, bytes)
    expect(await faultOf(openAt(path).then((torn) => torn.read(BENCH, 0)))).toBe('damaged')
  })

  it.each([
    ['SQLITE_FULL', 'full'],
    ['ENOSPC', 'full'],
    ['SQLITE_READONLY_DBMOVED', 'read-only'],
    ['SQLITE_CANTOPEN', 'read-only'],
    ['EROFS', 'read-only'],
    ['SQLITE_IOERR_FSYNC', 'damaged'],
    ['SQLITE_CORRUPT_INDEX', 'damaged'],
    ['SQLITE_NOTADB', 'not-a-ledger'],
    ['SQLITE_BUSY_SNAPSHOT', 'locked'],
  ])('names %s as %s and says what to do', (code, reason) => {
    const fault = toLedgerFault(Object.assign(new Error('from below'), { code }), '/var/lib/bench/ledger.db')
    expect(fault).toMatchObject({
      reason,
      message: expect.stringMatching(/^\/var\/lib\/bench\/ledger\.db: .*\. .*from below/),
    })
  })

  it('leaves an error that is none of the disk’s as it is', () => {
    const error = Object.assign(new Error('CHECK constraint failed'), { code: 'SQLITE_CONSTRAINT_CHECK' })
    expect(toLedgerFault(error, 'ledger.db')).toBe(error)
  })

  it('copies an older file before it brings it forward, and keeps every entry', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger, term, ownership } = await ownedAt(path)
    await ledger.append(BENCH, term, 0, [doseEntry(1), doseEntry(2)])
    await ownership.release()
    await ledger.close()
    const forward = await openAt(path, { schema: next })
    expect(await forward.verifyChain(BENCH)).toMatchObject({ kind: 'whole', sequence: 2 })
    await forward.close()
    const copy = await openAt(`${path}.schema-1.bak`)
    expect(await copy.read(BENCH, 0)).toHaveLength(2)
    await copy.close()
  })

  it('undoes a migration that fails half way', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    await (await openAt(path)).close()
    const failing: Migration = {
      title: 'half',
      up: (database) => database.exec('CREATE TABLE half (x TEXT) STRICT; INSERT INTO nowhere VALUES (1)'),
    }
    const half: Schema = { ...LEDGER_SCHEMA, migrations: [...LEDGER_SCHEMA.migrations, failing] }
    await expect(openAt(path, { schema: half })).rejects.toThrow(/nowhere/)
    await (await openAt(path)).close()
    const database = new Sqlite(path)
    expect(database.prepare(`SELECT count(*) FROM sqlite_schema WHERE name = 'half'`).pluck().get()).toBe(0)
    database.close()
  })

  it('brings no file forward while a daemon owns it', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    const { ledger } = await ownedAt(path)
    expect(await faultOf(openAt(path, { schema: next }))).toBe('locked')
    expect(existsSync(`${path}.schema-1.bak`)).toBe(false)
    await ledger.close()
  })

  it('still reads the ledger of every landed schema', async () => {
    const path = join(scratchFolder(), 'ledger.db')
    copyFileSync(new URL('../../fixtures/ledger/schema-1.sqlite', import.meta.url), path)
    const ledger = await openAt(path)
    expect(await ledger.verifyChain(BENCH)).toEqual({
      kind: 'whole',
      sequence: 3,
      hash: '0a617919b085a731856ff5224c658bd0b5f480b927544c64bdc2c03955eb2521',
    })
    expect((await ledger.latestSnapshot(BENCH))?.sequence).toBe(2)
    await ledger.close()
  })
})

describe('a backup', () => {
  it('taken beside the running ledger is a whole ledger', async () => {
    const folder = scratchFolder()
    const { ledger, term } = await ownedAt(join(folder, 'ledger.db'))
    await ledger.append(BENCH, term, 0, [doseEntry(1), doseEntry(2)])
    await ledger.backup(join(folder, 'copy.db'))
    await ledger.append(BENCH, term, 2, [doseEntry(3)])
    const copy = await openAt(join(folder, 'copy.db'))
    expect(await copy.verifyChain(BENCH)).toMatchObject({ kind: 'whole', sequence: 2 })
    await copy.close()
    await ledger.close()
  })
})
