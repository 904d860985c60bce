/** A broker to measure over: the real one where it is installed, else the one inside the daemon. */

import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, writeFileSync } from 'node:fs'
import { connect, createServer } from 'node:net'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { startBroker } from '../../src/shell/broker.ts'

export interface BenchBroker {
  readonly name: string
  readonly url: string
  close(): Promise<void>
}

const PLACES = [
  '/usr/sbin/mosquitto',
  '/usr/local/sbin/mosquitto',
  '/usr/bin/mosquitto',
  '/opt/homebrew/sbin/mosquitto',
]

export async function openBroker(base: string, folder: string): Promise<BenchBroker> {
  const program = PLACES.find((place) => existsSync(place))
  if (program) return openMosquitto(program, folder)
  const embedded = await startBroker({ base, port: 0 })
  return { name: 'embedded broker', url: embedded.url, close: () => embedded.close() }
}

async function openMosquitto(program: string, folder: string): Promise<BenchBroker> {
  const port = await freePort()
  const config = join(folder, 'mosquitto.conf')
  writeFileSync(config, `listener ${port} 127.0.0.1\nallow_anonymous true\nset_tcp_nodelay true\nlog_type error\n`)
  const child = spawn(program, ['-c', config], { stdio: 'ignore' })
  while (!(await answers(port))) await wait(20)
  const close = async (): Promise<void> => {
    const ended = once(child, 'close')
    child.kill()
    await ended
  }
  return { name: 'mosquitto', url: `mqtt://127.0.0.1:${port}`, close }
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
