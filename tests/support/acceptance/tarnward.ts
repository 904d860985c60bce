/** The command as a user has it: the bundle, in a process of its own. */

import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { cpSync, existsSync, mkdirSync, readdirSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { fileURLToPath } from 'node:url'
import { afterEach } from 'vitest'

export const ROOT = fileURLToPath(new URL('../../../', import.meta.url))
const BUILDING = join(tmpdir(), `tarnward-building-${Buffer.from(ROOT).toString('hex').slice(-40)}`)
/** A copy of the bundle of one's own, so that nobody who builds meanwhile takes it away; still inside the package. */
const CACHE = join(ROOT, 'node_modules/.cache')
const COPY_NAME = 'tarnward-acceptance-'
const OWN_BUNDLE = join(CACHE, `${COPY_NAME}${process.pid}`)
/** A build takes a second; a lock this old was left behind. */
const LOCK_STALE_MS = 60_000

export interface Running {
  readonly child: ChildProcess
  /** everything it has printed so far, both streams in order of arrival */
  text(): string
  /** the first line that matches, once there is one */
  line(pattern: RegExp, withinMs?: number): Promise<string>
  /** how it ended: its exit code, or −1 where a signal ended it */
  readonly ended: Promise<number>
  kill(signal: 'SIGKILL' | 'SIGTERM' | 'SIGINT'): Promise<number>
}

export interface Ended {
  readonly code: number
  readonly stdout: string
  readonly stderr: string
}

const running: Running[] = []
afterEach(async () => {
  for (const one of running.splice(0)) if (one.child.exitCode === null) await one.kill('SIGKILL')
})

/** Starts `tarnward …`; it is killed after the test where it still runs. */
export async function startTarnward(...args: string[]): Promise<Running> {
  return startTarnwardWith({}, ...args)
}

/** Starts `tarnward …` for more than one test: whoever asked for it kills it. */
export async function startTarnwardToKeep(...args: string[]): Promise<Running> {
  const kept = await startTarnward(...args)
  running.splice(running.indexOf(kept), 1)
  return kept
}

/** The same with more in its environment. */
export async function startTarnwardWith(more: Readonly<Record<string, string>>, ...args: string[]): Promise<Running> {
  await ensureBuilt()
  const env = { ...process.env, ...more }
  return follow(
    spawn(process.execPath, [join(OWN_BUNDLE, 'main.js'), ...args], { stdio: ['ignore', 'pipe', 'pipe'], env }),
  )
}

/** The same with a small file system of its own mounted at a folder; seen from outside below `/proc/<pid>/root`. */
export async function startTarnwardOnDisk(
  disk: { readonly mount: string; readonly size: string },
  ...args: string[]
): Promise<Running> {
  await ensureBuilt()
  const script = 'mount -t tmpfs -o "size=$1" tmpfs "$2" && shift 2 && exec "$@"'
  const command = [disk.size, disk.mount, process.execPath, join(OWN_BUNDLE, 'main.js'), ...args]
  return follow(spawn('unshare', ['-rm', 'sh', '-c', script, 'sh', ...command], { stdio: ['ignore', 'pipe', 'pipe'] }))
}

/** Runs `tarnward …` to its end. */
export async function tarnward(...args: string[]): Promise<Ended> {
  await ensureBuilt()
  const child = spawn(process.execPath, [join(OWN_BUNDLE, 'main.js'), ...args], { cwd: ROOT, timeout: 120_000 })
  const said = { stdout: '', stderr: '' }
  child.stdout.on('data', (chunk: Buffer) => (said.stdout += chunk.toString()))
  child.stderr.on('data', (chunk: Buffer) => (said.stderr += chunk.toString()))
  const [code] = (await once(child, 'close')) as [number | null]
  return { code: code ?? -1, ...said }
}

/** Starts a script of this repository as a process; it is killed after the test where it still runs. */
export function startScript(file: string, ...args: string[]): Running {
  const whole = [...(file.endsWith('.ts') ? ['--import', 'tsx'] : []), join(ROOT, file), ...args]
  return follow(spawn(process.execPath, whole, { stdio: ['ignore', 'pipe', 'pipe'], cwd: ROOT }))
}

function follow(child: ChildProcess): Running {
  let said = ''
  for (const stream of [child.stdout, child.stderr]) stream?.on('data', (chunk: Buffer) => (said += chunk.toString()))
  const ended = once(child, 'close').then(([code]) => (code as number | null) ?? -1)
  const one: Running = {
    child,
    text: () => said,
    ended,
    async line(pattern, withinMs = 30_000) {
      for (const endMs = performance.now() + withinMs; performance.now() < endMs; await wait(20)) {
        const found = said.split('\n').find((line) => pattern.test(line))
        if (found !== undefined) return found
        if (child.exitCode !== null) break
      }
      throw new Error(`no line ${pattern} within ${withinMs} ms; it said:\n${said}`)
    },
    kill(signal) {
      child.kill(signal)
      return ended
    },
  }
  running.push(one)
  return one
}

/** Builds when a source is newer than the bundle; test files that run side by side wait for the one that builds. */
async function ensureBuilt(): Promise<void> {
  if (existsSync(OWN_BUNDLE)) return
  while (!takeLock()) await wait(100)
  try {
    const bundle = join(ROOT, 'dist/main.js')
    if (!existsSync(bundle) || statSync(bundle).mtimeMs < newestSourceMs()) {
      const built = spawnSync(process.execPath, ['build.mjs'], { cwd: ROOT, encoding: 'utf8' })
      if (built.status !== 0) throw new Error(`the build failed:\n${built.stderr}`)
    }
    sweep()
    cpSync(join(ROOT, 'dist'), OWN_BUNDLE, { recursive: true })
  } finally {
    rmSync(BUILDING, { recursive: true, force: true })
  }
}

/** Copies of test processes that are gone: these end without a word. */
function sweep(): void {
  if (!existsSync(CACHE)) return
  for (const name of readdirSync(CACHE))
    if (name.startsWith(COPY_NAME) && !existsSync(`/proc/${name.slice(COPY_NAME.length)}`))
      rmSync(join(CACHE, name), { recursive: true, force: true })
}

function takeLock(): boolean {
  try {
    if (existsSync(BUILDING) && Date.now() - statSync(BUILDING).mtimeMs > LOCK_STALE_MS)
      rmSync(BUILDING, { recursive: true })
    mkdirSync(BUILDING)
    return true
  } catch {
    return false
  }
}

function newestSourceMs(): number {
  const files = ['src', 'simulator'].flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' }).map((name) => join(ROOT, folder, name)),
  )
  return Math.max(...files.filter((file) => /\.(tsx?|css|html|svg)$/.test(file)).map((file) => statSync(file).mtimeMs))
}
