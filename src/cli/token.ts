/** `tarnward token create|list|revoke`: who may ask the daemon for what. Works beside a running daemon and without. */

import { join } from 'node:path'
import { openAccessStore, type TokenRole } from '../ledger/access-store.ts'
import { type Access, createAccess, isGood } from '../shell/api/access/access.ts'
import { ACCESS_FILE } from '../shell/stores.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'
import { defaultStateFolder } from './run.ts'
import { wholeNumber } from './whole-number.ts'

export interface TokenOptions {
  readonly config?: string
  readonly stateDir?: string
  readonly name?: string
  readonly role?: string
  readonly days?: string
  readonly json?: boolean
}

const ROLES: readonly TokenRole[] = ['viewer', 'grower', 'technician']

/** Prints the secret this once; only its hash is kept. */
export async function tokenCreate(options: TokenOptions): Promise<void> {
  const { name, days } = options
  const role = ROLES.find((one) => one === options.role)
  if (!role) throw new CommandFailure('usage', `--role: found "${options.role}"; allowed are ${ROLES.join(', ')}`)
  if (name === undefined || name.trim() === '') throw new CommandFailure('usage', '--name: whose token it is')
  const expiresInDays = days === undefined ? undefined : wholeNumber('--days', days, 1, 3650)
  await withAccess(options, async (access) => {
    const made = await access.create({ name, role, expiresInDays })
    process.stdout.write(
      options.json
        ? `${JSON.stringify(made)}\n`
        : `${made.secret}\n${name}, ${role}, id ${made.token.id}. It is shown this once.\n`,
    )
  })
}

export async function tokenList(options: TokenOptions): Promise<void> {
  await withAccess(options, (access) => {
    const tokens = access.list()
    if (options.json) process.stdout.write(`${JSON.stringify({ tokens })}\n`)
    for (const token of options.json ? [] : tokens) {
      const ends = token.expiresAtMs === undefined ? 'no end' : `until ${new Date(token.expiresAtMs).toISOString()}`
      const state = isGood(token, Date.now()) ? ends : token.revokedAtMs === undefined ? 'expired' : 'revoked'
      process.stdout.write(`${token.id}  ${token.role.padEnd(10)}  ${token.name}  (${state})\n`)
    }
  })
}

export async function tokenRevoke(id: string, options: TokenOptions): Promise<void> {
  await withAccess(options, async (access) => {
    if (!(await access.revoke(id)))
      throw new CommandFailure('data', `There is no token ${id} that is good for anything.`)
    process.stdout.write('Revoked; it opens nothing from now on.\n')
  })
}

async function withAccess(options: TokenOptions, work: (access: Access) => void | Promise<void>): Promise<void> {
  const store = await openAccessStore(join(await folderOf(options), ACCESS_FILE))
  try {
    await work(createAccess({ store, nowMs: Date.now }))
  } finally {
    store.close()
  }
}

async function folderOf({ config, stateDir }: TokenOptions): Promise<string> {
  if (stateDir !== undefined) return stateDir
  if (config === undefined) throw new CommandFailure('usage', 'token needs --config FILE or --state-dir FOLDER')
  return defaultStateFolder((await readConfiguration(config)).site.site)
}
