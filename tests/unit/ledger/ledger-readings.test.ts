import { createHash } from 'node:crypto'
import { statfsSync } from 'node:fs'
import { join } from 'node:path'
import Sqlite, { type Database } from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import type { Ballast } from '../../../src/ledger/ballast.ts'
import { LedgerFault } from '../../../src/ledger/ledger-fault.ts'
import { openSqliteLedger, SqliteLedger } from '../../../src/ledger/sqlite-ledger.ts'
import { doseEntry, scratchFolder } from './scratch.ts'

const BENCH = 'quarry-lane'
const open = (path: string) => openSqliteLedger({ path, ballastBytes: 0 })

/** A ledger with entries of these kinds, one each second from 1 s on; several may share a moment. */
async function ledgerOf(kinds: readonly string[], timeOf = (at: number) => at * 1000) {
  const path = join(scratchFolder(), 'ledger.db')
  const ledger = await open(path)
  const term = await ledger.raiseTerm(BENCH, 'daemon-1')
  const entries = kinds.map((kind, at) => ({ ...doseEntry(at + 1), kind, atMs: timeOf(at + 1) }))
  await ledger.append(BENCH, term, 0, entries)
  return { path, ledger }
}

/** Changes the closed file as someone with a database browser would. */
function tamper(path: string, sql: string): void {
  const database = new Sqlite(path)
  database.exec(sql)
  database.close()
}

describe('entries of some kinds', () => {
  const found = async (ledger: SqliteLedger, kinds: readonly string[], fromMs: number, untilMs: number, id = BENCH) =>
    (await ledger.readKinds(id, kinds, { fromMs, untilMs })).map(({ sequence }) => sequence)

  it('are found between two moments, both of them in', async () => {
    const { ledger } = await ledgerOf(['a', 'b', 'a', 'c', 'b', 'a', 'a'])
    expect(await found(ledger, ['a'], 0, 9000)).toEqual([1, 3, 6, 7])
    expect(await found(ledger, ['a', 'b'], 1000, 7000)).toEqual([1, 2, 3, 5, 6, 7])
    expect(await found(ledger, ['a'], 1001, 6999)).toEqual([3, 6])
    expect(await found(ledger, ['a', 'b', 'c'], 4000, 4000)).toEqual([4])
    expect(await found(ledger, ['a', 'b', 'c'], 4001, 4999)).toEqual([])
    expect(await found(ledger, ['d'], 0, 9000)).toEqual([])
    expect(await found(ledger, ['a'], 0, 9000, 'another-lane')).toEqual([])
    await ledger.close()
  })

  it('are all found where many share a moment', async () => {
    const { ledger } = await ledgerOf(['a', 'a', 'a', 'a', 'a', 'a'], (at) => (at < 3 ? 1000 : at < 6 ? 2000 : 3000))
    expect(await found(ledger, ['a'], 2000, 2000)).toEqual([3, 4, 5])
    expect(await found(ledger, ['a'], 1000, 1999)).toEqual([1, 2])
    expect(await found(ledger, ['a'], 2001, 3000)).toEqual([6])
    await ledger.close()
  })

  it('come with all that was kept of them', async () => {
    const { ledger } = await ledgerOf(['a'])
    const { json } = doseEntry(1)
    expect(await ledger.readKinds(BENCH, ['a'], { fromMs: 0, untilMs: 1000 })).toEqual([
      { sequence: 1, kind: 'a', atMs: 1000, json },
    ])
    await ledger.close()
  })
})

describe('the head', () => {
  it('of a reservoir that nobody claimed is the beginning of its own chain', async () => {
    const ledger = await open(join(scratchFolder(), 'ledger.db'))
    const hash = createHash('sha256').update('tarnward ledger 1\nnobodys').digest('hex')
    expect(await ledger.head('nobodys')).toEqual({ sequence: 0, hash, atMs: 0 })
    expect(ledger.termOf('nobodys')).toBeUndefined()
    await ledger.raiseTerm('nobodys', 'daemon-1')
    expect(await ledger.head('nobodys')).toEqual({ sequence: 0, hash, atMs: 0 })
    expect(await ledger.verifyChain('nobodys')).toEqual({ kind: 'whole', sequence: 0, hash })
    await ledger.close()
  })
})

describe('a chain that is walked', () => {
  const SIX = ['a', 'a', 'a', 'a', 'a', 'a']

  it('is given up between slices as soon as somebody asks, and at its end', async () => {
    const { ledger } = await ledgerOf(SIX)
    const overAt = (turn: number) => {
      let turns = 0
      return () => {
        turns += 1
        return turns > turn
      }
    }
    const walk = (turn: number) => ledger.verifyChain(BENCH, { isOver: overAt(turn), sliceEntries: 2 })
    expect(await walk(0)).toEqual({ kind: 'given-up', sequence: 0 })
    expect(await walk(2)).toEqual({ kind: 'given-up', sequence: 4 })
    expect(await walk(3)).toEqual({ kind: 'given-up', sequence: 6 })
    expect(await walk(4)).toMatchObject({ kind: 'whole', sequence: 6 })
    await ledger.close()
  })

  it('is held against what was published of an entry in its midst, at its end and beyond', async () => {
    const { ledger, path } = await ledgerOf(SIX)
    const hashAt = new Sqlite(path).prepare<[number], Buffer>('SELECT hash FROM entry WHERE sequence = ?').pluck()
    const walk = (sequence: number, hash: string) => ledger.verifyChain(BENCH, { published: { sequence, hash } })
    for (const sequence of [1, 4, 6]) {
      expect(await walk(sequence, hashAt.get(sequence)!.toString('hex'))).toMatchObject({ kind: 'whole', sequence: 6 })
      expect(await walk(sequence, '00')).toEqual({ kind: 'broken', sequence })
    }
    expect(await walk(7, '00')).toEqual({ kind: 'cut', endsAt: 6, head: 7 })
    await ledger.close()
  })

  it('is broken where the head tells another hash than its last entry, or an entry hides behind it', async () => {
    const { ledger, path } = await ledgerOf(SIX)
    await ledger.close()
    tamper(path, 'UPDATE reservoir SET head_hash = zeroblob(32); DELETE FROM entry WHERE sequence = 3')
    const spoilt = await open(path)
    expect(await spoilt.verifyChain(BENCH)).toEqual({ kind: 'broken', sequence: 3 })
    // from an entry that is gone nothing can be walked, from the next one it can
    expect(await spoilt.verifyChain(BENCH, { afterSequence: 3 })).toEqual({ kind: 'broken', sequence: 3 })
    expect(await spoilt.verifyChain(BENCH, { afterSequence: 4 })).toEqual({ kind: 'broken', sequence: 6 })
    expect(await spoilt.verifyChain(BENCH, { afterSequence: 9 })).toEqual({ kind: 'broken', sequence: 9 })
    await spoilt.close()
  })
})

describe('a chain that grows while it is walked', () => {
  it('is walked to the head that it had', async () => {
    const { ledger } = await ledgerOf(['a', 'a', 'a', 'a', 'a', 'a'])
    let sequence = 6
    const isOver = () => {
      void ledger.append(BENCH, 1, sequence, [doseEntry(9), doseEntry(10)])
      sequence += 2
      return false
    }
    // what came meanwhile is whole as well, and none of this walk’s business
    expect(await ledger.verifyChain(BENCH, { isOver, sliceEntries: 4 })).toMatchObject({ kind: 'whole', sequence: 6 })
    expect(await ledger.head(BENCH)).toMatchObject({ sequence })
    await ledger.close()
  })

  it('of a reservoir that nobody claimed is whole and empty', async () => {
    const ledger = await open(join(scratchFolder(), 'ledger.db'))
    expect(await ledger.verifyChain('nobodys')).toMatchObject({ kind: 'whole', sequence: 0 })
    await ledger.close()
  })
})

describe('terms', () => {
  it('are lifted, never lowered, and only of the reservoir that is named', async () => {
    const ledger = await open(join(scratchFolder(), 'ledger.db'))
    for (const id of ['b-lane', 'a-lane']) await ledger.raiseTerm(id, 'daemon-1')
    expect(ledger.reservoirIds()).toEqual(['a-lane', 'b-lane'])
    ledger.liftTerm('a-lane', 7)
    ledger.liftTerm('a-lane', 3)
    expect([ledger.termOf('a-lane'), ledger.termOf('b-lane')]).toEqual([
      { term: 7, owner: 'daemon-1' },
      { term: 1, owner: 'daemon-1' },
    ])
    expect(await ledger.raiseTerm('a-lane', 'daemon-2')).toBe(8)
    expect(ledger.termOf('a-lane')).toEqual({ term: 8, owner: 'daemon-2' })
    await ledger.close()
  })
})

/** A ledger whose ballast and disk are this test’s; `prepared` counts what was asked of the database. */
async function staged(change: Partial<Ballast> & { freeBytes?: () => Promise<number> } = {}) {
  const path = join(scratchFolder(), 'ledger.db')
  await (await open(path)).close()
  const database = new Sqlite(path)
  let prepared = 0
  const counting = new Proxy(database, {
    get(target, name) {
      if (name === 'prepare') prepared += 1
      const value: unknown = Reflect.get(target, name)
      return typeof value === 'function' ? value.bind(target) : value
    },
  }) as Database
  const freed: string[] = []
  const ballast: Ballast = {
    ...{ bytes: 100, held: () => false, restore: () => true },
    free: () => freed.push('freed') > 0,
    ...change,
  }
  class Staged extends SqliteLedger {
    override freeBytes(): Promise<number> {
      return change.freeBytes?.() ?? super.freeBytes()
    }
  }
  return {
    path,
    database,
    freed,
    ledger: new Staged(path, counting, ballast),
    preparedBy: async (work: () => Promise<unknown>) => {
      const before = prepared
      await expect(work()).rejects.toThrow()
      return prepared - before
    },
  }
}

describe('a term on a full disk', () => {
  const pages = (database: Database) => Number(database.pragma('page_count', { simple: true }))
  const fill = async (ledger: SqliteLedger, freed: readonly string[]) => {
    const terms: number[] = []
    for (let at = 0; at < 200 && freed.length === 0; at += 1)
      terms.push(await ledger.raiseTerm(`${at}-${'x'.repeat(900)}`, 'd'))
    return terms
  }

  it('is raised in the room of the ballast', async () => {
    const { database, ledger, freed } = await staged({
      free: () => {
        freed.push('freed')
        database.pragma('max_page_count = 9999')
        return true
      },
    })
    database.pragma(`max_page_count = ${pages(database)}`)
    expect(new Set(await fill(ledger, freed))).toEqual(new Set([1]))
    expect(freed).toEqual(['freed'])
    await ledger.close()
  })

  it('is a fault where that is not enough, after a second try', async () => {
    const { database, ledger, freed, preparedBy } = await staged()
    database.pragma(`max_page_count = ${pages(database)}`)
    await expect(fill(ledger, [])).rejects.toThrow(/disk is full/)
    expect(freed).toEqual(['freed', 'freed'])
    expect(await preparedBy(() => ledger.raiseTerm('x'.repeat(3000), 'd'))).toBe(2)
    await ledger.close()
  })

  it('is not tried again for any other fault, and no ballast is let go for it', async () => {
    const { database, ledger, freed, preparedBy } = await staged()
    database.pragma('query_only = ON')
    await expect(ledger.raiseTerm(BENCH, 'd')).rejects.toThrow(LedgerFault)
    expect(await preparedBy(() => ledger.raiseTerm(BENCH, 'd'))).toBe(1)
    database.close()
    await expect(ledger.raiseTerm(BENCH, 'd')).rejects.toThrow(TypeError)
    expect(await preparedBy(() => ledger.raiseTerm(BENCH, 'd'))).toBe(1)
    expect(freed).toEqual([])
  })
})

describe('the reserve', () => {
  const reserve = async (free: number, change: Partial<Ballast> = {}) =>
    (await staged({ freeBytes: async () => free, ...change })).ledger.hasReserve()

  it('is taken again where twice as much is free, and not sooner', async () => {
    expect(await reserve(200)).toBe(true)
    expect(await reserve(199)).toBe(false)
    expect(await reserve(200, { restore: () => false })).toBe(false)
    expect(await reserve(0, { held: () => true, restore: () => false })).toBe(true)
  })

  it('on a disk that fails is a fault of the ledger’s file', async () => {
    const freeBytes = () => Promise.reject(Object.assign(new Error('no disk'), { code: 'EIO' }))
    const { ledger, path } = await staged({ freeBytes })
    await expect(ledger.hasReserve()).rejects.toThrow(`${path}: cannot be trusted any more`)
  })

  it('is asked of the disk that the ledger is on, in bytes', async () => {
    const { ledger, path } = await staged()
    const { bavail, bsize } = statfsSync(join(path, '..'))
    const ratio = (await ledger.freeBytes()) / (bavail * bsize)
    expect(ratio).toBeGreaterThan(0.5)
    expect(ratio).toBeLessThan(2)
  })
})

describe('a backup', () => {
  it('that cannot be written is a fault of its own file', async () => {
    const { ledger, path } = await staged()
    const target = join(path, '..')
    await expect(ledger.backup(target)).rejects.toThrow(`${target}: cannot be written`)
    await ledger.close()
  })
})
