import { execFileSync, spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { describe, expect, it } from 'vitest'
import { openSqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../../src/ledger/sqlite-ownership.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'

const WRITER = new URL('./ledger-writer.ts', import.meta.url).pathname
const BENCH = 'quarry-lane'

/** A writer in a process of its own; `lines` grows while it runs. */
function startWriter(path: string, ...more: string[]) {
  const child = spawn(process.execPath, ['--import', 'tsx', WRITER, path, ...more], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const said = { text: '' }
  child.stdout.on('data', (chunk: Buffer) => {
    said.text += chunk.toString()
  })
  const ended = once(child, 'close')
  /** whole lines only: a torn last one was not acknowledged to anybody */
  const lines = () => said.text.split('\n').slice(0, -1)
  const until = async (count: number) => {
    while (lines().length < count && child.exitCode === null) await wait(5)
  }
  return { child, lines, until, ended }
}

describe('a daemon killed in the middle of an append', () => {
  it.each([3, 17, 60])(
    'loses nothing that was acknowledged, and frees the ownership (after %i appends)',
    async (appends) => {
      const path = join(scratchFolder(), 'ledger.db')
      const writer = startWriter(path, '400')
      await writer.until(appends + 1)

      const rival = await openSqliteLedger({ path, ballastBytes: 0 })
      expect(await createSqliteOwnership(rival).claim(BENCH, 'rival')).toEqual({ heldBy: `writer-${writer.child.pid}` })
      await rival.close()

      writer.child.kill('SIGKILL')
      await writer.ended
      const acknowledged = Number(writer.lines().at(-1))
      const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
      const { sequence } = await ledger.head(BENCH)
      expect(acknowledged).toBeGreaterThanOrEqual(appends * 3)
      expect(sequence).toBeGreaterThanOrEqual(acknowledged)
      expect(sequence % 3).toBe(0)
      expect(await ledger.verifyChain(BENCH)).toMatchObject({ kind: 'whole', sequence })
      expect(await createSqliteOwnership(ledger).claim(BENCH, 'successor')).toEqual({ term: 2 })
      await ledger.close()
    },
  )
})

/** A real small disk, where this user may mount one. */
function smallDisk(bytes: string): { readonly folder: string; readonly unmount: () => void } | undefined {
  const folder = join(scratchFolder(), 'disk')
  mkdirSync(folder)
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${bytes}`, 'tmpfs', folder], { stdio: 'ignore' })
  } catch {
    return undefined
  }
  return { folder, unmount: () => execFileSync('umount', [folder]) }
}

describe('a disk that is really full', () => {
  it('refuses the append, keeps what was acknowledged, and the freed ballast takes the trip', async (context) => {
    const disk = smallDisk('2m')
    if (disk === undefined) return context.skip('needs the right to mount a small disk (root)')
    try {
      const path = join(disk.folder, 'ledger.db')
      const writer = startWriter(path, '3000', '400000')
      await writer.ended
      const lines = writer.lines()
      const acknowledged = Number(lines.findLast((line) => /^\d+$/.test(line)))
      expect(lines.slice(-2)).toEqual(['fault full', `trip ${acknowledged + 1}`])
      const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
      expect((await ledger.read(BENCH, acknowledged))[0]).toMatchObject({ kind: 'tripped', sequence: acknowledged + 1 })
      expect(await ledger.verifyChain(BENCH)).toMatchObject({ kind: 'whole', sequence: acknowledged + 1 })
      await ledger.close()
    } finally {
      disk.unmount()
    }
  })
})
