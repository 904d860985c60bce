/**
 * Plants each bug in a copy of the tree and runs the ordinary tests there, which must fail:
 *   npm run campaign -- planted
 * Ends with 1 where a bug was not caught or no longer finds its place.
 */

import { spawnSync } from 'node:child_process'
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { PLANTED_BUGS, type PlantedBug } from './planted-bugs.ts'
import { withBug } from './with-bug.ts'

const COPIED = ['src', 'simulator', 'tests', 'config', 'package.json', 'tsconfig.json', 'vitest.config.ts']

function main(): number {
  const copy = mkdtempSync(join(tmpdir(), 'tarnward-planted-'))
  try {
    for (const name of COPIED) cpSync(name, join(copy, name), { recursive: true })
    symlinkSync(resolve('node_modules'), join(copy, 'node_modules'))
    const sound = run(copy, ['tests/safety'])
    if (sound.failed) throw new Error(`the tests fail without any bug planted:\n${sound.text}`)
    const missed = PLANTED_BUGS.filter((bug) => !isCaught(copy, bug))
    console.log(`${PLANTED_BUGS.length - missed.length} of ${PLANTED_BUGS.length} planted bugs caught`)
    return missed.length > 0 ? 1 : 0
  } finally {
    rmSync(copy, { recursive: true, force: true })
  }
}

function isCaught(copy: string, bug: PlantedBug): boolean {
  const sound = bug.edits.map(({ file }) => readFileSync(file, 'utf8'))
  for (const [at, edit] of bug.edits.entries()) writeFileSync(join(copy, edit.file), withBug(sound[at]!, edit))
  const { failed, text } = run(copy, bug.tests)
  for (const [at, { file }] of bug.edits.entries()) writeFileSync(join(copy, file), sound[at]!)
  const first = /FAIL\s+(.*)/.exec(text)?.[1]?.trim()
  console.log(`${failed ? 'caught' : 'MISSED'}  ${bug.name}${first === undefined ? '' : `  (${first})`}`)
  return failed
}

function run(copy: string, tests: readonly string[]): { readonly failed: boolean; readonly text: string } {
  const args = [
    'node_modules/vitest/vitest.mjs',
    'run',
    '--bail',
    '1',
    '--exclude',
    '**/second-model.test.ts',
    '--exclude',
    '**/blind-model*.test.ts',
    ...tests,
  ]
  const ran = spawnSync(process.execPath, args, { cwd: copy, encoding: 'utf8', env: { ...process.env, NO_COLOR: '1' } })
  return { failed: ran.status !== 0, text: ran.stdout + ran.stderr }
}

process.exitCode = main()
