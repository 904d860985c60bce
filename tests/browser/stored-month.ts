/** Twenty-eight days of the example’s bench, with what people said in the last hours of it. */

import { cpSync, existsSync, mkdirSync, readdirSync, renameSync, rmSync, statSync } from 'node:fs'
import { mkdtemp } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { fileURLToPath } from 'node:url'
import { PACKAGE_FOLDER } from '../../src/cli/package-folder.ts'
import { type LivingSite, storeSite } from '../bench/stored-site.ts'

const DAYS = 28
/** Whoever stores a site holds this; a lock this old was left behind. */
const LOCK_STALE_MS = 600_000

/** The folder of a site with 28 days in its ledger, stored once for all test files and runs, until a source changes. */
export async function storedMonth(): Promise<string> {
  const cache = fileURLToPath(new URL('node_modules/.cache', PACKAGE_FOLDER))
  mkdirSync(cache, { recursive: true })
  const folder = join(cache, `tarnward-stored-${newestSourceMs()}-${DAYS}`)
  const lock = `${folder}.lock`
  while (!existsSync(folder)) {
    if (existsSync(lock) && Date.now() - statSync(lock).mtimeMs > LOCK_STALE_MS) rmSync(lock, { recursive: true })
    try {
      mkdirSync(lock)
    } catch {
      await wait(200)
      continue
    }
    const building = await mkdtemp(join(tmpdir(), 'tarnward-storing-'))
    await storeSite(building, DAYS, lastHours)
    cpSync(building, `${folder}.new`, { recursive: true })
    renameSync(`${folder}.new`, folder)
    rmSync(building, { recursive: true })
    rmSync(lock, { recursive: true })
  }
  return folder
}

/** Of what writes the ledger: the page does not. */
function newestSourceMs(): number {
  const root = fileURLToPath(PACKAGE_FOLDER)
  const files = ['src', 'simulator', 'config/example'].flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => /\.(ts|yaml)$/.test(name) && !name.startsWith('page'))
      .map((name) => statSync(join(root, folder, name)).mtimeMs),
  )
  return Math.round(Math.max(...files))
}

/** Somebody looks at a plan before it runs, has smaller shots for an hour, and lets it go on by itself. */
async function lastHours({ daemon, live }: LivingSite): Promise<void> {
  const say = async (reason: string, instruction: Parameters<typeof daemon.view.instruct>[2]) => {
    const answer = await daemon.view.instruct('bench', reason, instruction)
    if (answer.kind !== 'taken') throw new Error(`${reason}: ${answer.why}`)
  }
  await say('to see what would be dosed', { instruction: 'mode', mode: 'advise' })
  await live(90)
  await say('a smaller shot is enough', { instruction: 'limit', limit: 'stocks.phosphate.shotMaxMl', value: 2 })
  const { plan } = daemon.view.status()
  if (!plan) throw new Error('no plan waits')
  await say('looked at it', { instruction: 'approve', planId: plan.id })
  await live(30)
  await say('as it was', { instruction: 'limit', limit: 'stocks.phosphate.shotMaxMl', value: 40 })
  await say('nobody is in the room', { instruction: 'mode', mode: 'automatic' })
  await live(120)
}
