import { describe, expect, it } from 'vitest'
import { houseFaults } from '../support/house-rules.ts'

describe('the rules of the house', () => {
  it.each([
    ['chance in the core', 'src/core/plan/plan.ts', 'const luck = Math.random()', 'chance comes in as a seed'],
    ['waiting in safety', 'src/safety/judge.ts', 'export async function judge() {}', 'a pure room answers at once'],
    ['loading on the way', 'src/chemistry/salt.ts', "const x = import('mathjs')", 'loads nothing on the way'],
    ['a test run alone', 'tests/unit/a.test.ts', "it.only('doses', () => {})", 'a test runs or is not there'],
    ['a test left out', 'tests/unit/a.test.ts', "describe.skip('doses', () => {})", 'a test runs or is not there'],
    ['a home folder', 'docs/start.md', 'cd /home/somebody/tarnward', 'a path of one machine'],
    ['a drive letter', 'src/shell/http.ts', "const page = 'C:\\\\pages'", 'a path of one machine'],
    ['a host in the lock file', 'package-lock.json', '"resolved": "https://host.test/a.tgz"', 'names no host'],
    ['a file that grew', 'src/core/plan/plan.ts', '\n'.repeat(401), '401 lines, at most 400'],
  ])('find %s', (_what, path, text, why) => {
    const faults = houseFaults(path, text)
    expect(faults).toHaveLength(1)
    expect(faults[0]).toContain(why)
    expect(faults[0]!.startsWith(path)).toBe(true)
  })

  it.each([
    ['waiting in the shell', 'src/shell/loop.ts', 'async function work() { await commit() }'],
    ['a comment that says what is not done', 'src/core/a.ts', '// no Math.random, no async: chance is a seed'],
    ['a test that asks the machine first', 'tests/edge/a.test.ts', 'describe.skipIf(missing)'],
    ['an address that only looks like a path', 'docs/a.md', 'see https://example.org/home/page'],
    ['400 lines', 'src/core/a.ts', '\n'.repeat(400)],
  ])('leave %s alone', (_what, path, text) => {
    expect(houseFaults(path, text)).toEqual([])
  })
})
