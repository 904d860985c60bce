import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import {
  isFault,
  LEDGER_FAULTS,
  LedgerFault,
  type LedgerFaultReason,
  ledgerFault,
  toLedgerFault,
} from '../../../src/ledger/ledger-fault.ts'
import { takeOwnerLock } from '../../../src/ledger/owner-lock.ts'
import { scratchFolder } from './scratch.ts'

const CODES: Readonly<Record<LedgerFaultReason, readonly string[]>> = {
  full: ['SQLITE_FULL', 'ENOSPC', 'EDQUOT'],
  'read-only': [
    'SQLITE_READONLY',
    'SQLITE_READONLY_DBMOVED',
    'SQLITE_CANTOPEN',
    'SQLITE_PERM',
    'EROFS',
    'EACCES',
    'EPERM',
  ],
  damaged: ['SQLITE_CORRUPT', 'SQLITE_IOERR_FSYNC', 'EIO'],
  'not-a-ledger': ['SQLITE_NOTADB'],
  'newer-schema': [],
  locked: ['SQLITE_BUSY', 'SQLITE_BUSY_SNAPSHOT', 'SQLITE_LOCKED'],
}
const ALL = Object.entries(CODES).flatMap(([reason, codes]) => codes.map((code) => [code, reason] as const))

describe('an error of the disk or the database', () => {
  it.each(ALL)('%s is a fault of the reason %s, told with its file and cause', (code, reason) => {
    const error = Object.assign(new Error('no luck'), { code })
    const fault = toLedgerFault(error, '/var/x.db') as LedgerFault
    expect(fault).toBeInstanceOf(LedgerFault)
    expect({ name: fault.name, reason: fault.reason, cause: fault.cause }).toEqual({
      name: 'LedgerFault',
      reason,
      cause: error,
    })
    expect(fault.message).toMatch(/^\/var\/x\.db: .+\. .+ \(no luck\)$/)
    // what says more than that code says nothing else
    expect(toLedgerFault({ code: `X${code}` }, 'x.db')).not.toBeInstanceOf(LedgerFault)
  })

  it.each([
    null,
    undefined,
    'SQLITE_FULL',
    7,
    {},
    new Error('SQLITE_FULL'),
    { code: 'SQLITE_CONSTRAINT' },
    { code: null },
  ])('%j is none, and stays as it is', (error) => {
    expect(toLedgerFault(error, 'x.db')).toBe(error)
  })

  it('that is one already keeps its file and its words', () => {
    const fault = ledgerFault('locked', 'a.db')
    expect(toLedgerFault(fault, 'b.db')).toBe(fault)
    const coded = Object.assign(ledgerFault('locked', 'a.db'), { code: 'SQLITE_FULL' })
    expect(toLedgerFault(coded, 'b.db')).toBe(coded)
  })

  it.each(LEDGER_FAULTS)('%s is told in words of its own, and with no cause where there is none', (reason) => {
    const fault = ledgerFault(reason, 'a.db')
    expect(fault.message).toMatch(/^a\.db: [^()]+\.$/)
    expect(ledgerFault(reason, 'a.db', 'a word').message).toBe(fault.message)
    expect(ledgerFault(reason, 'a.db', 'a word').cause).toBe('a word')
    expect(new Set(LEDGER_FAULTS.map((one) => ledgerFault(one, 'a.db').message)).size).toBe(LEDGER_FAULTS.length)
  })

  it('is asked for by its reason', () => {
    expect(isFault(ledgerFault('full', 'a.db'), 'full')).toBe(true)
    for (const other of [ledgerFault('locked', 'a.db'), { reason: 'full' }, new Error('full'), null, undefined])
      expect(isFault(other, 'full')).toBe(false)
  })
})

describe('the lock of an owner', () => {
  it('that another has is refused at once, and free once that one lets go', () => {
    const path = join(scratchFolder(), 'ledger.db')
    const first = takeOwnerLock(path)
    if (first === 'held') throw new Error('nobody else is here')
    const begunMs = performance.now()
    expect(takeOwnerLock(path)).toBe('held')
    // the driver of itself would wait for five seconds
    expect(performance.now() - begunMs).toBeLessThan(4000)
    first.release()
    const again = takeOwnerLock(path)
    expect(again).not.toBe('held')
    if (again !== 'held') again.release()
  })

  it('that cannot be written is a fault, and nobody’s', () => {
    const path = join(scratchFolder(), 'ledger.db')
    mkdirSync(`${path}.lock`)
    expect(() => takeOwnerLock(path)).toThrow(LedgerFault)
    expect(() => takeOwnerLock(path)).toThrow(/ledger\.db\.lock: cannot be written/)
    expect(() => takeOwnerLock(join(path, 'nowhere', 'x.db'))).toThrow(/directory does not exist/)
  })
})
