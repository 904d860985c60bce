import { closeSync, constants, openSync, rmSync, symlinkSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Socket } from 'node:net'

/** The part of a pseudo-terminal pair that the library opens but does not describe in its types. */
interface PtyPair {
  readonly ptsName: string
  readonly master: Socket
  readonly slave: Socket
}

interface PtyLibrary {
  open(options: { readonly cols: number; readonly rows: number }): PtyPair
}

export interface SerialCable {
  /** what arrived at the node’s end */
  text(): string
  write(bytes: string | Uint8Array): void
  unplug(): void
}

/**
 * A cable whose daemon’s end is a real terminal device at `path` (a link, as by-id paths are); plugging in again
 * makes a new device behind the same path.
 */
export function plugIn(path: string): SerialCable {
  const library = createRequire(import.meta.url)('@lydell/node-pty') as PtyLibrary
  const pair = library.open({ cols: 80, rows: 24 })
  let text = ''
  pair.master.on('data', (chunk: Buffer | string) => {
    text += chunk.toString()
  })
  for (const end of [pair.master, pair.slave]) end.on('error', () => {})
  // the library reads from its own handle of the device’s end; one that nobody reads keeps the device alive instead
  const keeper = openSync(pair.ptsName, constants.O_RDWR | constants.O_NOCTTY)
  pair.slave.destroy()
  let plugged = true
  rmSync(path, { force: true })
  symlinkSync(pair.ptsName, path)
  return {
    text: () => text,
    write: (bytes) => void pair.master.write(bytes),
    unplug: () => {
      if (!plugged) return
      plugged = false
      rmSync(path, { force: true })
      closeSync(keeper)
      pair.master.destroy()
    },
  }
}
