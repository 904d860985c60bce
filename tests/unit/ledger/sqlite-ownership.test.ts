import { rmSync } from 'node:fs'
import { join } from 'node:path'
import Sqlite from 'better-sqlite3'
import { expect, it } from 'vitest'
import { takeOwnerLock } from '../../../src/ledger/owner-lock.ts'
import { openSqliteLedger } from '../../../src/ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../../../src/ledger/sqlite-ownership.ts'
import { scratchFolder } from './scratch.ts'

const open = (path: string) => openSqliteLedger({ path, ballastBytes: 0 })

it('a second owner is refused and told who holds the reservoir', async () => {
  const path = join(scratchFolder(), 'ledger.db')
  const [first, second] = [await open(path), await open(path)]
  const owner = createSqliteOwnership(first)
  const rival = createSqliteOwnership(second)
  expect(await owner.claim('quarry-lane', 'daemon-1')).toEqual({ term: 1 })
  expect(await rival.claim('quarry-lane', 'daemon-2')).toEqual({ heldBy: 'daemon-1' })
  expect(await owner.renew()).toBe('held')
  expect(await rival.renew()).toBe('lost')
  await owner.release()
  expect(await rival.claim('quarry-lane', 'daemon-2')).toEqual({ term: 2 })
  await rival.release()
  await first.close()
  await second.close()
})

it('every claim raises the term, over restarts and for each reservoir by itself', async () => {
  const path = join(scratchFolder(), 'ledger.db')
  for (const term of [1, 2, 3]) {
    const ledger = await open(path)
    const ownership = createSqliteOwnership(ledger)
    expect(await ownership.claim('quarry-lane', `run-${term}`)).toEqual({ term })
    await ownership.release()
    await ledger.close()
  }
  const ledger = await open(path)
  const ownership = createSqliteOwnership(ledger)
  expect(await ownership.claim('orchard-row', 'run-4')).toEqual({ term: 1 })
  await ownership.release()
  await ledger.close()
})

it('an owner whose lock file was deleted learns from the term that another has claimed', async () => {
  const path = join(scratchFolder(), 'ledger.db')
  const [first, second] = [await open(path), await open(path)]
  const owner = createSqliteOwnership(first)
  await owner.claim('quarry-lane', 'daemon-1')
  rmSync(`${path}.lock`)
  const rival = createSqliteOwnership(second)
  expect(await rival.claim('quarry-lane', 'daemon-2')).toEqual({ term: 2 })
  expect(await owner.renew()).toBe('lost')
  await first.close()
  await second.close()
})

it('a lock of which no term tells is another process’s', async () => {
  const path = join(scratchFolder(), 'ledger.db')
  const ledger = await open(path)
  const lock = takeOwnerLock(path)
  expect(await createSqliteOwnership(ledger).claim('quarry-lane', 'daemon-1')).toEqual({ heldBy: 'another process' })
  if (lock !== 'held') lock.release()
  await ledger.close()
})

it('an owner of two reservoirs has lost where either was claimed since, or is gone', async () => {
  const path = join(scratchFolder(), 'ledger.db')
  const ledger = await open(path)
  const owner = createSqliteOwnership(ledger)
  for (const lane of ['quarry-lane', 'orchard-row']) await owner.claim(lane, 'daemon-1')
  expect(await owner.renew()).toBe('held')
  await ledger.raiseTerm('orchard-row', 'daemon-2')
  expect(await owner.renew()).toBe('lost')
  await owner.claim('orchard-row', 'daemon-1')
  expect(await owner.renew()).toBe('held')
  const database = new Sqlite(path)
  database.exec(`DELETE FROM reservoir WHERE id = 'quarry-lane'`)
  database.close()
  expect(await owner.renew()).toBe('lost')
  await owner.release()
  expect(await owner.renew()).toBe('lost')
  await owner.release()
  await ledger.close()
})
