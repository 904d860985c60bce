/**
 * Mutation testing of the gate and of the ledger, a file at a time so that a run that is broken off keeps what it has:
 *   npm run mutation                         every file
 *   npm run mutation -- sums trip            these files only
 * What survives is in reports/mutation/<file>.txt; files that have not changed since, nor their tests, cost seconds.
 */

import { spawnSync } from 'node:child_process'
import { mkdirSync, readdirSync, writeFileSync } from 'node:fs'

const REPORTS = 'reports/mutation'
/** Raw readings and the port’s types decide nothing. */
const LEFT_OUT = ['src/ledger/telemetry.ts', 'src/ledger/port.ts', 'src/ledger/schema.ts', 'src/safety/types.ts']

function files(wanted: readonly string[]): readonly string[] {
  const all = ['src/safety', 'src/ledger'].flatMap((folder) =>
    readdirSync(folder)
      .filter((name) => name.endsWith('.ts'))
      .map((name) => `${folder}/${name}`),
  )
  const names = new Set(wanted.map((name) => `${name}.ts`))
  return all.filter((file) => !LEFT_OUT.includes(file) && (names.size === 0 || names.has(file.split('/').at(-1) ?? '')))
}

function main(wanted: readonly string[]): number {
  let failed = 0
  mkdirSync(REPORTS, { recursive: true })
  for (const file of files(wanted)) {
    const name = file.replaceAll('/', '-').replace('.ts', '')
    const args = ['run', 'tests/mutation/stryker.json', '--mutate', file]
    const ran = spawnSync('node_modules/.bin/stryker', [...args, '--incrementalFile', `${REPORTS}/${name}.json`], {
      encoding: 'utf8',
    })
    writeFileSync(`${REPORTS}/${name}.txt`, ran.stdout + ran.stderr)
    const row = ran.stdout.split('\n').findLast((line) => /^\s*All files/.test(line))
    console.log(`${file}  ${row === undefined ? 'FAILED' : row.replace(/^\s*All files\s*\|/, '')}`)
    if (row === undefined) failed++
  }
  return failed > 0 ? 1 : 0
}

process.exitCode = main(process.argv.slice(2))
