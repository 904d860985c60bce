import { randomFillSync } from 'node:crypto'
import { closeSync, fsyncSync, openSync, renameSync, rmSync, statSync, writeSync } from 'node:fs'

/** Room for the trip and the records that follow it until a person comes; chosen, a busy day is about 1 MiB. */
export const BALLAST_BYTES = 4 * 1024 * 1024
const CHUNK_BYTES = 256 * 1024

/** A file that only takes up room, so that room can be made when the disk is full. */
export interface Ballast {
  readonly bytes: number
  held(): boolean
  /** gives the room back; true where there was some to give */
  free(): boolean
  /** takes the room again; false where the disk has none, then nothing is left behind */
  restore(): boolean
}

/** The ballast of `bytes` at `path`. Noise, because some file systems store zeros in no room at all. */
export function createBallast(path: string, bytes: number): Ballast {
  const held = () => (statSync(path, { throwIfNoEntry: false })?.size ?? 0) >= bytes
  const free = () => {
    if (statSync(path, { throwIfNoEntry: false }) === undefined) return false
    rmSync(path, { force: true })
    return true
  }
  return { bytes, held, free, restore: () => held() || fill(path, bytes) }
}

function fill(path: string, bytes: number): boolean {
  const partial = `${path}.part`
  try {
    const file = openSync(partial, 'w', 0o600)
    try {
      for (let left = bytes; left > 0; left -= CHUNK_BYTES)
        writeWhole(file, randomFillSync(Buffer.alloc(Math.min(left, CHUNK_BYTES))))
      fsyncSync(file)
    } finally {
      closeSync(file)
    }
    renameSync(partial, path)
    return true
  } catch {
    rmSync(partial, { force: true })
    return false
  }
}

/** A disk that runs full takes part of a write first, and refuses the rest only on the next call. */
function writeWhole(file: number, bytes: Buffer): void {
  for (let done = 0; done < bytes.length; ) done += writeSync(file, bytes, done)
}
