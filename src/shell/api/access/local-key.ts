/**
 * A key of this process alone, in a file that only its own user can read: whoever can read it could as well edit the
 * site’s limits, so the command line on the same machine needs no token. It is gone with the process.
 */

import { mkdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir, userInfo } from 'node:os'
import { join } from 'node:path'
import { newSecret } from './access.ts'

export interface LocalKey {
  readonly secret: string
  /** once the port is known, the key can be found by it */
  publish(port: number): void
  remove(): void
}

export function createLocalKey(): LocalKey {
  const secret = newSecret()
  let file: string | undefined
  return {
    secret,
    publish(port) {
      const folder = keyFolder()
      mkdirSync(folder, { recursive: true, mode: 0o700 })
      if (!isOurs(folder)) return
      file = keyFile(port)
      rmSync(file, { force: true })
      writeFileSync(file, secret, { mode: 0o600, flag: 'wx' })
    },
    remove() {
      if (file !== undefined) rmSync(file, { force: true })
    },
  }
}

/** The key of the daemon on a port of this machine; undefined where there is none that this user may read. */
export function readLocalKey(port: number): string | undefined {
  try {
    return isOurs(keyFolder()) ? readFileSync(keyFile(port), 'utf8') : undefined
  } catch {
    return undefined
  }
}

/** A folder that another user made or may write could hand us a key of theirs. */
function isOurs(folder: string): boolean {
  const { uid, mode } = statSync(folder)
  return uid === userInfo().uid && (mode & 0o077) === 0
}

function keyFolder(): string {
  const runtime = process.env['XDG_RUNTIME_DIR']
  return runtime ? join(runtime, 'tarnward') : join(tmpdir(), `tarnward-${userInfo().uid}`)
}

function keyFile(port: number): string {
  return join(keyFolder(), `${port}.key`)
}
