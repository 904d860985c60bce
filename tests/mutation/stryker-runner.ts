/**
 * A test runner for Stryker that keeps the tests in memory: a mutant is switched on, the tests that reach it run from the
 * quickest to the slowest, and the first that fails ends it. Only mutants of what runs at import load everything anew.
 */

import { readdirSync, readFileSync } from 'node:fs'
import { relative, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { Script } from 'node:vm'
import type { InstrumenterContext } from '@stryker-mutator/api/core'
import { declareClassPlugin, PluginKind } from '@stryker-mutator/api/plugin'
import {
  type DryRunOptions,
  type DryRunResult,
  DryRunStatus,
  determineHitLimitReached,
  type MutantRunOptions,
  type MutantRunResult,
  type TestResult,
  type TestRunner,
  TestStatus,
  toMutantRunResult,
} from '@stryker-mutator/api/test-runner'
import { build } from 'esbuild'
import type { CollectedTest } from './harness.ts'
import { sentences } from './sentences.ts'
import { survivors } from './survivors.ts'

const SUITE = ['tests/safety', 'tests/unit/ledger']
/** Files that take long for what they ask; of a mutant that only these would see a rule is not pinned down yet. */
const LEFT_OUT = [
  'tests/safety/second-model.test.ts',
  'tests/safety/second-model-counts.test.ts',
  'tests/safety/blind-model.test.ts',
  'tests/safety/blind-model-more.test.ts',
  'tests/unit/ledger/telemetry.test.ts',
]
/** Tests that play long stories, left out for the same reason. */
const LONG = [
  'is what judge permits: all of it, any part of it, and not one microlitre more',
  'names when waits are over: not before, and then at once if all else is well',
  'agrees at every wish with sums made in another way, and refuses exactly by them',
  'never lets more than the caps out of a bottle, whatever becomes of the shots',
  'is the same when it is rebuilt from the records of judged and settled shots',
]
const SMALL_SECOND_MODEL = 'tests/mutation/small-second-model.ts'
const HARNESS = 'tests/mutation/harness.ts'
const STRYKER = globalThis as unknown as { __stryker__?: InstrumenterContext }

class InMemoryRunner implements TestRunner {
  #suite: Script | undefined
  #tests: readonly CollectedTest[] = []
  #forgetReadyBenches: () => void = () => {}
  readonly #timeMs = new Map<string, number>()

  capabilities() {
    return { reloadEnvironment: true }
  }

  async init(): Promise<void> {
    this.#suite = await suite()
  }

  async dryRun(_options: DryRunOptions): Promise<DryRunResult> {
    const context = this.#context()
    this.#load()
    const tests: TestResult[] = []
    for (const test of this.#tests) {
      // what a test shares with another would be reached by the first of them alone
      this.#forgetReadyBenches()
      context.currentTestId = test.name
      const result = await run(test)
      context.currentTestId = ''
      this.#timeMs.set(test.name, result.timeSpentMs)
      tests.push(result)
    }
    delete context.currentTestId
    return {
      status: DryRunStatus.Complete,
      tests,
      ...(context.mutantCoverage === undefined ? {} : { mutantCoverage: context.mutantCoverage }),
    }
  }

  async mutantRun(options: MutantRunOptions): Promise<MutantRunResult> {
    const context = this.#context()
    delete context.activeMutant
    context.hitCount = 0
    if (options.hitLimit !== undefined) context.hitLimit = options.hitLimit
    else delete context.hitLimit
    const isStatic = options.mutantActivation === 'static' || options.reloadEnvironment
    if (isStatic) context.activeMutant = options.activeMutant.id
    try {
      if (isStatic || this.#tests.length === 0) this.#load()
    } catch (error) {
      this.#tests = []
      return toMutantRunResult({ status: DryRunStatus.Complete, tests: [failed('import', 0, error)] })
    }
    context.activeMutant = options.activeMutant.id
    this.#forgetReadyBenches()
    const tests = await this.#runUntilOneFails(roomOf(options.activeMutant.fileName), options.testFilter)
    delete context.activeMutant
    if (isStatic) this.#tests = []
    return toMutantRunResult(
      determineHitLimitReached(context.hitCount, options.hitLimit) ?? { status: DryRunStatus.Complete, tests },
    )
  }

  async #runUntilOneFails(room: string, wanted: readonly string[] | undefined): Promise<TestResult[]> {
    const names = wanted && new Set(wanted)
    const asked = this.#tests.filter(
      (test) => reaches(test.name, room) && (names === undefined || names.has(test.name)),
    )
    const timeOf = (test: CollectedTest) => this.#timeMs.get(test.name) ?? 0
    const results: TestResult[] = []
    for (const test of [...asked].sort((a, b) => timeOf(a) - timeOf(b))) {
      const result = await run(test)
      results.push(result)
      if (this.#timeMs.get(test.name) === undefined) this.#timeMs.set(test.name, result.timeSpentMs)
      if (result.status === TestStatus.Failed) break
    }
    return results
  }

  #load(): void {
    if (this.#suite === undefined) throw new Error('the runner was asked before it was ready')
    const { takeTests, forgetReadyBenches } = this.#suite.runInThisContext() as Suite
    this.#forgetReadyBenches = forgetReadyBenches
    this.#tests = takeTests().filter(({ name }) => !LONG.some((end) => name.endsWith(end)))
  }

  #context(): InstrumenterContext {
    STRYKER.__stryker__ ??= {}
    return STRYKER.__stryker__
  }
}

/** `safety` or `ledger`. */
function roomOf(fileName: string): string {
  return fileName.split('/').at(-2) ?? ''
}

/** Gate and ledger never see each other: the tests of the one can tell nothing of the other, and would only take time. */
function reaches(test: string, room: string): boolean {
  return test.startsWith('tests/unit/ledger/') === (room === 'ledger')
}

interface Suite {
  readonly takeTests: () => readonly CollectedTest[]
  readonly forgetReadyBenches: () => void
}

/**
 * All tests and what they reach as one script. It is compiled once and may be run again and again, each time with modules
 * of its own; packages are loaded once for all.
 */
async function suite(): Promise<Script> {
  const files = [...SUITE.flatMap(testsIn), SMALL_SECOND_MODEL].filter((file) => !LEFT_OUT.includes(file))
  const harness = resolve(HARNESS)
  const imports = files.map((file) => `import './${file}'`).join('\n')
  const { outputFiles } = await build({
    stdin: {
      contents: `import './tests/support/chance.ts'\n${imports}\nexport { forgetReadyBenches, takeTests } from './${HARNESS}'`,
      resolveDir: process.cwd(),
    },
    write: false,
    bundle: true,
    format: 'iife',
    globalName: 'suite',
    footer: { js: 'suite' },
    platform: 'node',
    target: 'node20',
    plugins: [
      {
        name: 'harness',
        setup({ onLoad, onResolve }) {
          onResolve({ filter: /^vitest$/ }, ({ importer }) => (importer === harness ? null : { path: harness }))
          onResolve({ filter: /^(?:@|node:)?[a-z]/ }, ({ path }) => ({ path, namespace: 'package' }))
          onLoad({ filter: /.*/, namespace: 'package' }, ({ path }) => loadedPackage(path))
          onLoad({ filter: /\.test\.ts$|small-second-model/ }, ({ path }) => ({
            contents: asOfFile(path),
            loader: 'ts',
          }))
        },
      },
    ],
  })
  return new Script(outputFiles[0]!.text, { filename: resolve('mutation-suite.js') })
}

const PACKAGES: Record<string, Readonly<Record<string, unknown>>> = {}
Object.assign(globalThis, { packagesOfSuite: PACKAGES })

/** A package as a module of the suite: a script cannot import, so what it exports is handed over by name. */
async function loadedPackage(name: string): Promise<{ contents: string }> {
  PACKAGES[name] = await import(name)
  const names = Object.keys(PACKAGES[name]!).filter((key) => /^[A-Za-z_$][\w$]*$/.test(key) && key !== 'default')
  return {
    contents: [
      `const loaded = packagesOfSuite[${JSON.stringify(name)}]`,
      'export default loaded.default',
      ...names.map((key, at) => `const value${at} = loaded.${key}; export { value${at} as ${key} }`),
    ].join('\n'),
  }
}

/** A test file that knows its own name and place, though it runs inside the bundle. */
function asOfFile(path: string): string {
  const name = JSON.stringify(relative(process.cwd(), path))
  const text = readFileSync(path, 'utf8').replaceAll('import.meta.url', JSON.stringify(pathToFileURL(path).href))
  return `import { beginFile as beginFileOfTests } from ${JSON.stringify(resolve(HARNESS))}\nbeginFileOfTests(${name})\n${text}`
}

function testsIn(folder: string): readonly string[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.test.ts'))
    .sort()
    .map((name) => `${folder}/${name}`)
}

async function run(test: CollectedTest): Promise<TestResult> {
  const began = performance.now()
  try {
    await test.body()
    for (const hook of test.after) await (hook as () => unknown)()
    return { id: test.name, name: test.name, timeSpentMs: performance.now() - began, status: TestStatus.Success }
  } catch (error) {
    return failed(test.name, performance.now() - began, error)
  }
}

function failed(name: string, timeSpentMs: number, error: unknown): TestResult {
  const failureMessage = error instanceof Error ? error.message : String(error)
  return { id: name, name, timeSpentMs, status: TestStatus.Failed, failureMessage }
}

export const strykerPlugins = [
  declareClassPlugin(PluginKind.TestRunner, 'in-memory', InMemoryRunner),
  sentences,
  survivors,
]
