/** From the start of the process to a reservoir that is open, and the memory it then holds. */

import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { fileURLToPath } from 'node:url'
import { PACKAGE_FOLDER } from '../../src/cli/package-folder.ts'
import { type Figure, median } from './measure.ts'
import { storeSite } from './stored-site.ts'

const RUNS = 9
const DAYS = 14
const SETTLE_MS = 2000
const MAIN = fileURLToPath(new URL('dist/main.js', PACKAGE_FOLDER))

/** A site with a fortnight in its ledger, started again and again. */
export async function startUpFigures(): Promise<readonly Figure[]> {
  const stateFolder = await mkdtemp(join(tmpdir(), 'tarnward-bench-'))
  try {
    const site = await storeSite(stateFolder, DAYS)
    const starts: { readonly openedMs: number; readonly residentMb: number | undefined }[] = []
    for (let run = 0; run < RUNS; run++) starts.push(await startOnce(site, stateFolder, run === RUNS - 1))
    const note = `median of ${RUNS} starts of a site with ${DAYS} days in its ledger`
    const residentMb = starts.at(-1)?.residentMb
    return [
      { name: 'start to open', value: median(starts.map((run) => run.openedMs)) / 1000, unit: 's', goal: 0.8, note },
      ...(residentMb === undefined
        ? []
        : [
            {
              name: 'memory then',
              value: residentMb,
              unit: 'MB',
              goal: 120,
              note: `resident, ${SETTLE_MS / 1000} s later`,
            },
          ]),
    ]
  } finally {
    await rm(stateFolder, { recursive: true, force: true })
  }
}

async function startOnce(
  site: string,
  stateFolder: string,
  looksAtMemory: boolean,
): Promise<{ readonly openedMs: number; readonly residentMb: number | undefined }> {
  const beganMs = performance.now()
  const args = [MAIN, 'run', '--config', site, '--state-dir', stateFolder, '--port', '0', '--json-log']
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] })
  await saying(child, ' opened: ')
  const openedMs = performance.now() - beganMs
  if (looksAtMemory) await wait(SETTLE_MS)
  const residentMb = looksAtMemory ? await residentMbOf(child) : undefined
  const ended = once(child, 'close')
  child.kill('SIGTERM')
  await ended
  return { openedMs, residentMb }
}

async function saying(child: ChildProcess, words: string): Promise<void> {
  let text = ''
  child.stdout?.on('data', (chunk: Buffer) => {
    text += chunk.toString()
  })
  while (!text.includes(words)) {
    if (child.exitCode !== null) throw new Error(`the daemon ended before it was open: ${text}`)
    await wait(1)
  }
}

/** What the kernel counts as resident; undefined where it does not say (not Linux). */
async function residentMbOf(child: ChildProcess): Promise<number | undefined> {
  const text = await readFile(`/proc/${child.pid}/status`, 'utf8').catch(() => '')
  const [, kilobytes] = /^VmRSS:\s+(\d+) kB$/m.exec(text) ?? []
  return kilobytes === undefined ? undefined : Number(kilobytes) / 1024
}
