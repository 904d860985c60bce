import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
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
