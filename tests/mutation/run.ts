/**
 * Mutation testing of the gate and of what decides in the ledger:
 *   npm run mutation                         every file
 *   npm run mutation -- sums trip            these files only
 *   npm run mutation -- --quick sums trip    without what runs at import, each of which loads all tests anew
 * Each mutant that no test kills is told as soon as it survived; a table by file comes last. Ends with 1 where one is
 * alive that tests/mutation/equivalent.md does not list.
 */

import { spawnSync } from 'node:child_process'
import { readdirSync } from 'node:fs'

/**
 * What of the ledger decides whether a verdict may be believed and a command may go out: the chain, the term that fences
 * an old daemon, the lock of the owner, what a fault of the disk is called. Schemas, raw readings, accounts of people
 * and the ballast decide nothing of it.
 */
const LEDGER = ['chain', 'ledger-fault', 'owner-lock', 'sqlite-ledger', 'sqlite-ownership']
/** Types alone. */
const LEFT_OUT = ['types']

function files(wanted: readonly string[]): readonly string[] {
  const safety = readdirSync('src/safety')
    .map((name) => name.replace(/\.ts$/, ''))
    .filter((name) => !LEFT_OUT.includes(name))
    .map((name) => `src/safety/${name}.ts`)
  const all = [...safety, ...LEDGER.map((name) => `src/ledger/${name}.ts`)]
  return wanted.length === 0 ? all : all.filter((file) => wanted.some((name) => file.endsWith(`/${name}.ts`)))
}

const QUICK = '--quick'

function main(words: readonly string[]): number {
  const wanted = words.filter((word) => word !== QUICK)
  const mutated = files(wanted)
  if (mutated.length === 0) {
    console.error(`no such file of the gate or the ledger: ${wanted.join(', ')}; give names without folder and ending`)
    return 2
  }
  const stryker = ['--import', 'tsx', 'node_modules/@stryker-mutator/core/bin/stryker.js']
  const quick = words.includes(QUICK) ? ['--ignoreStatic'] : []
  const args = ['run', 'tests/mutation/stryker.json', ...quick, '--mutate', mutated.join(',')]
  return spawnSync(process.execPath, [...stryker, ...args], { stdio: 'inherit' }).status ?? 1
}

process.exitCode = main(process.argv.slice(2))
