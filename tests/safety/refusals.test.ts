/**
 * What the gate says at each edge where it refuses, as a person reads it: refusals.txt beside this file, which is made by
 * TARNWARD_REWRITE=1 npx vitest run tests/safety/refusals.test.ts and read before it is kept.
 */

import { readFileSync, writeFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { readyBench } from './bench.ts'
import type { InterlockCase } from './interlock-case.ts'
import { INTERLOCK_CASES } from './interlock-cases.ts'

const FILE = 'tests/safety/refusals.txt'
const REFUSING = INTERLOCK_CASES.filter((row) => !row.holds)

/** The sentence of one interlock, and the wait after which it would hold if time alone lifts it. */
function told(row: InterlockCase): string {
  const bench = readyBench(row.limits)
  row.arrange(bench)
  const { verdict } = bench.ask(row.stock ?? 'nitrate', row.volumeUl ?? 1000)
  const why = verdict.kind === 'refuse' ? verdict.why.find(({ interlock }) => interlock === row.interlock) : undefined
  const waitMs = why?.notBeforeMs === undefined ? '' : ` (${why.notBeforeMs - bench.atMs} ms)`
  return `| ${row.interlock} | ${row.tells} | ${why?.sentence ?? ''}${waitMs} |`
}

function rewrite(): void {
  const head = '# What the gate says where it refuses\n\n| interlock | where | what a person reads |\n|---|---|---|\n'
  writeFileSync(FILE, `${head}${REFUSING.map(told).join('\n')}\n`)
}

if (process.env['TARNWARD_REWRITE'] === '1') rewrite()
const LINES = readFileSync(FILE, 'utf8').split('\n').slice(4, -1)

describe('a refusal', () => {
  it('stands in the list for every edge and for no other', () => {
    expect(LINES).toHaveLength(REFUSING.length)
  })

  it.each(REFUSING.map((row, at) => ({ ...row, line: LINES[at] })))(
    'by $interlock of $tells reads as listed',
    (row) => {
      expect(told(row)).toBe(row.line)
    },
  )

  it.each(LINES)('leaves nothing out: %s', (line) => {
    expect(line).not.toMatch(/undefined|null|\|\s*\|/)
  })
})
