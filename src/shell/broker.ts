import { createHash, timingSafeEqual } from 'node:crypto'
import { createServer, type Server, type Socket } from 'node:net'
import { Aedes, type AedesOptions, type Client } from 'aedes'
import { isNodeTopic, parseTopic } from '../contract/topic.ts'

/** Who may connect. With a `node` it may write and read only what the contract gives that node. */
export interface BrokerUser {
  readonly username: string
  readonly password: string
  readonly node?: string
}

export interface BrokerOptions {
  /** `<prefix>/<site>` */
  readonly base: string
  /** 0 takes any free one */
  readonly port: number
  readonly host?: string
  readonly users?: readonly BrokerUser[]
}

export interface EmbeddedBroker {
  readonly port: number
  readonly url: string
  close(): Promise<void>
}

const LOOPBACK: readonly string[] = ['127.0.0.1', '::1', 'localhost']

/**
 * A broker inside the process for a demonstration or a bench trial: MQTT 3.1.1, memory only. A site runs a real one.
 * @throws Error where it would listen beyond this machine without users, or the port is taken
 */
export async function startBroker(options: BrokerOptions): Promise<EmbeddedBroker> {
  const host = options.host ?? '127.0.0.1'
  const users = options.users ?? []
  if (!LOOPBACK.includes(host) && users.length === 0) {
    throw new Error(
      `broker.host ${host}: without users anybody in reach could run pumps. Set broker.users, or leave it on 127.0.0.1.`,
    )
  }
  const aedes = await Aedes.createBroker(users.length === 0 ? {} : rules(options.base, users))
  aedes.on('clientError', (client) => client.close())
  aedes.on('connectionError', (client) => client.close())
  const sockets = new Set<Socket>()
  const server = createServer((socket) => {
    sockets.add(socket)
    socket.on('close', () => sockets.delete(socket))
    aedes.handle(socket)
  })
  await listen(server, options.port, host)
  const address = server.address()
  const port = typeof address === 'object' && address !== null ? address.port : options.port
  return {
    port,
    url: `mqtt://${host.includes(':') ? `[${host}]` : host}:${port}`,
    close: async () => {
      const stopped = new Promise<void>((resolve) => server.close(() => resolve()))
      await new Promise<void>((resolve) => aedes.close(() => resolve()))
      for (const socket of sockets) socket.destroy()
      await stopped
    },
  }
}

function listen(server: Server, port: number, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject)
    server.listen(port, host, () => {
      server.off('error', reject)
      resolve()
    })
  })
}

function rules(base: string, users: readonly BrokerUser[]): AedesOptions {
  const known = new WeakMap<Client, BrokerUser>()
  return {
    authenticate: (client, username, password, done) => {
      const user = users.find(
        (candidate) => candidate.username === username && sameSecret(candidate.password, password),
      )
      if (user === undefined) return done(Object.assign(new Error('wrong user or password'), { returnCode: 4 }), false)
      known.set(client, user)
      done(null, true)
    },
    authorizePublish: (client, packet, done) => {
      if (client === null) return done(null)
      done(mayWrite(base, known.get(client), packet.topic) ? null : new Error(`may not write ${packet.topic}`))
    },
    authorizeSubscribe: (client, subscription, done) => {
      done(null, mayRead(base, known.get(client), subscription.topic) ? subscription : null)
    },
  }
}

function mayWrite(base: string, user: BrokerUser | undefined, topic: string): boolean {
  if (user === undefined) return false
  if (user.node === undefined) return true
  const parsed = parseTopic(base, topic)
  return parsed !== undefined && isNodeTopic(parsed) && parsed.node === user.node
}

function mayRead(base: string, user: BrokerUser | undefined, filter: string): boolean {
  if (user === undefined) return false
  if (user.node === undefined) return true
  return filter === `${base}/${user.node}/lease` || filter.startsWith(`${base}/${user.node}/pump/`)
}

/** Hashed first, so that neither the length nor the place of the first difference shows in the time. */
function sameSecret(expected: string, given: Buffer | undefined): boolean {
  const digest = (value: string | Buffer) => createHash('sha256').update(value).digest()
  return timingSafeEqual(digest(expected), digest(given ?? ''))
}
