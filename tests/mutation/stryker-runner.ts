/**
 * A test runner for Stryker that keeps the tests in memory: a mutant is switched on, the tests that reach it run from the
 * quickest to the slowest, and the first that fails ends it. Only mutants of what runs at import load everything anew.
 */

import { readdirSync, readFileSync, rmSync } from 'node:fs'
import { relative, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
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
  readonly #bundle = resolve(`mutation-suite-${process.pid}.mjs`)
  #tests: readonly CollectedTest[] = []
  #forgetReadyBenches: () => void = () => {}
  #loads = 0
  readonly #timeMs = new Map<string, number>()

  capabilities() {
    return { reloadEnvironment: true }
  }

  async init(): Promise<void> {
    await bundle(this.#bundle)
  }

  async dispose(): Promise<void> {
    rmSync(this.#bundle, { force: true })
  }

  async dryRun(_options: DryRunOptions): Promise<DryRunResult> {
    const context = this.#context()
    await this.#load()
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
      if (isStatic || this.#tests.length === 0) await this.#load()
    } catch (error) {
      this.#tests = []
      return toMutantRunResult({ status: DryRunStatus.Complete, tests: [failed('import', 0, error)] })
    }
    context.activeMutant = options.activeMutant.id
    this.#forgetReadyBenches()
    const tests = await this.#runUntilOneFails(options.testFilter)
    delete context.activeMutant
    if (isStatic) this.#tests = []
    return toMutantRunResult(
      determineHitLimitReached(context.hitCount, options.hitLimit) ?? { status: DryRunStatus.Complete, tests },
    )
  }

  async #runUntilOneFails(wanted: readonly string[] | undefined): Promise<TestResult[]> {
    const names = wanted && new Set(wanted)
    const asked = this.#tests.filter((test) => names === undefined || names.has(test.name))
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

  async #load(): Promise<void> {
    this.#loads += 1
    const { takeTests, forgetReadyBenches } = await import(`${pathToFileURL(this.#bundle).href}?${this.#loads}`)
    this.#forgetReadyBenches = forgetReadyBenches
    this.#tests = (takeTests() as readonly CollectedTest[]).filter(
      ({ name }) => !LONG.some((end) => name.endsWith(end)),
    )
  }

  #context(): InstrumenterContext {
    STRYKER.__stryker__ ??= {}
    return STRYKER.__stryker__
  }
}

async function bundle(outfile: string): Promise<void> {
  const files = [...SUITE.flatMap(testsIn), SMALL_SECOND_MODEL].filter((file) => !LEFT_OUT.includes(file))
  const harness = resolve(HARNESS)
  const imports = files.map((file) => `import './${file}'`).join('\n')
  await build({
    stdin: {
      contents: `import './tests/support/chance.ts'\n${imports}\nexport { forgetReadyBenches, takeTests } from './${HARNESS}'`,
      resolveDir: process.cwd(),
    },
    outfile,
    bundle: true,
    format: 'esm',
    platform: 'node',
    target: 'node20',
    packages: 'external',
    plugins: [
      {
        name: 'harness',
        setup({ onLoad, onResolve }) {
          onResolve({ filter: /^vitest$/ }, ({ importer }) => (importer === harness ? null : { path: harness }))
          onLoad({ filter: /\.test\.ts$|small-second-model/ }, ({ path }) => ({
            contents: asOfFile(path),
            loader: 'ts',
          }))
        },
      },
    ],
  })
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
