import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, writeFileSync } from 'node:fs'
import { connect, createServer } from 'node:net'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { scratchFolder } from '../unit/ledger/scratch.ts'

/** Where Debian puts it, which is not on everybody’s path. */
const PLACES = ['mosquitto', '/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto']

/** The mosquitto program of this machine; undefined where there is none, which on CI is a failure and not a skip. */
export function findMosquitto(): string | undefined {
  const found = PLACES.find((place) =>
    place.includes('/') ? existsSync(place) : spawnSync(place, ['-h']).error === undefined,
  )
  if (found === undefined && process.env['CI'])
    throw new Error('mosquitto is not installed; on CI these tests may not be skipped')
  return found
}

export interface Mosquitto {
  readonly url: string
  start(): Promise<void>
  kill(signal?: 'SIGTERM' | 'SIGKILL'): Promise<void>
  /** no longer answers, with its connections open, as when a cable is pulled */
  freeze(): void
}

/** A real broker on a free port of this machine that can go and come again with its sessions. */
export async function createMosquitto(program: string, extraLines: readonly string[] = []): Promise<Mosquitto> {
  const port = await freePort()
  const folder = scratchFolder()
  const config = join(folder, 'mosquitto.conf')
  const lines = [
    `listener ${port} 127.0.0.1`,
    'persistence true',
    `persistence_location ${folder}/`,
    'user root',
    'log_type error',
    ...extraLines,
  ]
  writeFileSync(config, `${(extraLines.length > 0 ? lines : [...lines, 'allow_anonymous true']).join('\n')}\n`)
  let child: ChildProcess | undefined
  return {
    url: `mqtt://127.0.0.1:${port}`,
    start: async () => {
      child = spawn(program, ['-c', config], { stdio: 'ignore' })
      while (!(await answers(port))) await wait(20)
    },
    kill: async (signal: 'SIGTERM' | 'SIGKILL' = 'SIGTERM') => {
      if (child === undefined || child.exitCode !== null) return
      const ended = once(child, 'close')
      // a frozen one that went on for a moment would still read what waits for it; SIGKILL needs no going on
      child.kill(signal)
      await ended
      child = undefined
    },
    freeze: () => void child?.kill('SIGSTOP'),
  }
}

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1')
  await once(server, 'listening')
  const address = server.address()
  server.close()
  await once(server, 'close')
  if (typeof address !== 'object' || address === null) throw new Error('no port')
  return address.port
}

async function answers(port: number): Promise<boolean> {
  const socket = connect(port, '127.0.0.1')
  const open = await Promise.race([
    once(socket, 'connect').then(() => true),
    once(socket, 'error').then(() => false),
  ]).catch(() => false)
  socket.destroy()
  return open
}
