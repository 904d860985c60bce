/** A line between browser and daemon that can be cut and mended. */

import { connect, createServer, type Socket } from 'node:net'

export interface Line {
  readonly url: string
  cut(): void
  mend(): void
  close(): Promise<void>
}

export async function lineTo(url: string): Promise<Line> {
  const port = Number(new URL(url).port)
  const sockets = new Set<Socket>()
  let isCut = false
  const server = createServer((near) => {
    if (isCut) return near.destroy()
    const far = connect(port, '127.0.0.1')
    for (const socket of [near, far]) {
      sockets.add(socket)
      socket.on('error', () => {})
      socket.on('close', () => {
        sockets.delete(socket)
        near.destroy()
        far.destroy()
      })
    }
    near.pipe(far)
    far.pipe(near)
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()))
  const address = server.address()
  const drop = () => {
    for (const socket of sockets) socket.destroy()
  }
  return {
    url: `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`,
    cut: () => {
      isCut = true
      drop()
    },
    mend: () => {
      isCut = false
    },
    close: async () => {
      drop()
      await new Promise((resolve) => server.close(resolve))
    },
  }
}
