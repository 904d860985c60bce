/**
 * Rules of the house that no linter has: what a pure room may not say, and what may stand in no file at all.
 * As a program it looks through the whole tree: `node --import tsx tests/support/house-rules.ts`.
 */

import { readdirSync, readFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'

interface Rule {
  /** which files, by path from the top */
  readonly where: RegExp
  readonly not?: RegExp
  readonly found: RegExp
  readonly why: string
}

const PURE = /^src\/(chemistry|formulation|core|safety|reservoir)\/.*\.ts$/
const TOP = fileURLToPath(new URL('../../', import.meta.url))
const FOLDERS = ['.ci', 'config', 'docs', 'simulator', 'src', 'tests']
const TEXT = /(\.(ts|js|mjs|cjs|json|yaml|yml|md|csv|tsv|sh|html|css|txt)|\/run|LICENSE)$/
const LINES_MAX = 400
/** These speak of what is forbidden. */
const ITSELF = /^tests\/(support\/house-rules\.ts$|house\/)/

const RULES: readonly Rule[] = [
  { where: PURE, found: /\bMath\.random\b/, why: 'chance comes in as a seed' },
  { where: PURE, found: /\basync\b|\bawait\b/, why: 'a pure room answers at once; waiting is the shell’s' },
  { where: PURE, found: /\bimport\(/, why: 'a pure room loads nothing on the way' },
  {
    where: /^tests\/.*\.test\.ts$/,
    not: ITSELF,
    found: /\b(it|test|describe)\.(only|skip|todo)\b/,
    why: 'a test runs or is not there; one that needs something of the machine says so with skipIf',
  },
  {
    where: /./,
    not: ITSELF,
    found: /(?<![\w.:/])\/(home|Users|root|work|mnt|media)\/\w|\b[A-Z]:\\{1,2}\w/,
    why: 'a path of one machine; name it from the top of the project, or ask the system for a folder',
  },
  {
    where: /^package-lock\.json$/,
    found: /"resolved": "(?!file:)/,
    why: 'the lock file names no host, so that any registry will do (npm config omit-lockfile-registry-resolved)',
  },
]

/** What a file breaks, one sentence each with place; empty where nothing is wrong. */
export function houseFaults(path: string, text: string): string[] {
  const lines = text.split('\n')
  const faults = RULES.filter((rule) => rule.where.test(path) && !rule.not?.test(path)).flatMap((rule) =>
    lines.flatMap((line, at) =>
      rule.found.test(codeOf(path, line)) ? [`${path}:${at + 1}  ${line.trim()}: ${rule.why}`] : [],
    ),
  )
  const count = lines.at(-1) === '' ? lines.length - 1 : lines.length
  if (/^(src|simulator|tests)\/.*\.(ts|js|css|html)$/.test(path) && count > LINES_MAX)
    faults.push(`${path}: ${count} lines, at most ${LINES_MAX}; two nouns live here`)
  return faults
}

/** Comments of a pure room may speak of what its code may not do. */
function codeOf(path: string, line: string): string {
  return PURE.test(path) ? line.replace(/^\s*(\/?\*|\/\/).*$/, '').replace(/\s\/\/ .*$/, '') : line
}

function* filesUnder(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) yield* filesUnder(path)
    else yield path
  }
}

function everyFile(): string[] {
  const top = readdirSync(TOP, { withFileTypes: true })
  const files = top.filter((entry) => entry.isFile() && !/^\..*-dev\.ts$/.test(entry.name))
  const folders = top.filter((entry) => entry.isDirectory() && FOLDERS.includes(entry.name))
  const below = folders.flatMap((folder) => [...filesUnder(join(TOP, folder.name))])
  return [...files.map((file) => join(TOP, file.name)), ...below]
}

function main(): void {
  const faults = everyFile().flatMap((file) => {
    const path = relative(TOP, file).replaceAll('\\', '/')
    return TEXT.test(path) ? houseFaults(path, readFileSync(file, 'utf8')) : []
  })
  for (const fault of faults) process.stderr.write(`${fault}\n`)
  process.exitCode = faults.length > 0 ? 1 : 0
}

if (process.argv[1] === fileURLToPath(import.meta.url)) main()
