/** Backup, restore and check by the command, beside the real daemon. */

import { copyFileSync, existsSync } from 'node:fs'
import { join } from 'node:path'
import Sqlite from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { openSqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { startTarnward, tarnward } from '../support/acceptance/tarnward.ts'

/** A site whose broker never answers: its daemon writes its start and waits. */
function quietSite() {
  const site = hungryBench({ broker: 'mqtt://127.0.0.1:9', leaseS: 60 }, Date.now())
  const state = join(site.folder, 'state')
  const live = () => startTarnward('run', '--config', site.siteFile, '--state-dir', state, '--port', '0')
  return { ...site, state, live, ledgerFile: join(state, 'ledger.db'), copy: join(site.folder, 'copy.db') }
}

async function lived(site: ReturnType<typeof quietSite>): Promise<void> {
  const daemon = await site.live()
  await daemon.line(/keeping quarry-lane/, 60_000)
  expect(await daemon.kill('SIGTERM')).toBe(0)
}

/** What a careless or a wrong hand would do: a row changed, its hash left as it was. */
function changeFirstEntry(path: string): void {
  const database = new Sqlite(path)
  database.prepare("UPDATE entry SET json = json_set(json, '$.by', 'nobody') WHERE sequence = 1").run()
  database.close()
}

describe('a backup', () => {
  it('is taken beside the running daemon; restoring is refused until it has stopped, and then goes on from the backup', async () => {
    const site = quietSite()
    const daemon = await site.live()
    await daemon.line(/keeping quarry-lane/, 60_000)
    const taken = await tarnward('backup', site.copy, '--state-dir', site.state)
    expect(taken).toMatchObject({ code: 0, stderr: '' })
    expect(taken.stdout).toMatch(/quarry-lane: \d+ entries, whole; head [0-9a-f]{64}/)
    expect((await tarnward('backup', site.copy, '--state-dir', site.state)).code).toBe(64)
    const refused = await tarnward('restore', site.copy, '--state-dir', site.state)
    expect(refused.code).toBe(69)
    expect(refused.stderr).toContain('a daemon keeps this ledger. Stop it first')
    expect(await daemon.kill('SIGTERM')).toBe(0)

    const restored = await tarnward('restore', site.copy, '--state-dir', site.state)
    expect(restored).toMatchObject({ code: 0, stderr: '' })
    expect(existsSync(`${site.ledgerFile}.before-restore-1`)).toBe(true)
    await lived(site)
    const ledger = await openSqliteLedger({ path: site.ledgerFile, ballastBytes: 0 })
    expect(ledger.termOf('quarry-lane')?.term).toBeGreaterThan(1000)
    expect(await ledger.verifyChain('quarry-lane')).toMatchObject({ kind: 'whole' })
    await ledger.close()
  }, 120_000)

  it('that was changed is not restored, and the ledger stays as it is', async () => {
    const site = quietSite()
    await lived(site)
    expect((await tarnward('backup', site.copy, '--state-dir', site.state)).code).toBe(0)
    changeFirstEntry(site.copy)
    const refused = await tarnward('restore', site.copy, '--state-dir', site.state)
    expect(refused.code).toBe(65)
    expect(refused.stderr).toContain('entry 1 is not what was written')
    expect(existsSync(`${site.ledgerFile}.before-restore-1`)).toBe(false)
    expect((await tarnward('ledger', 'verify', '--state-dir', site.state)).code).toBe(0)
  }, 120_000)
})

describe('a ledger that somebody changed', () => {
  it('trips the daemon that starts on it, with the place and what to do, and the command finds it too', async () => {
    const site = quietSite()
    await lived(site)
    copyFileSync(site.ledgerFile, site.copy)
    changeFirstEntry(site.ledgerFile)
    const verified = await tarnward('ledger', 'verify', '--state-dir', site.state)
    expect(verified.code).toBe(65)
    expect(verified.stderr).toContain('entry 1 is not what was written, or is missing')
    const daemon = await site.live()
    await daemon.line(/entry 1 is not what was written.*restore the last backup/, 60_000)
    await daemon.line(/tripped:ledger-damaged/, 60_000)
    expect(await daemon.kill('SIGTERM')).toBe(0)
  }, 120_000)
})
