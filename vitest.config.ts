import { defineConfig } from 'vitest/config'
import { bundledTests } from './tests/support/bundled-tests.ts'
import { LongestFirst } from './tests/support/longest-first.ts'

/** They mostly wait: for wall clocks, brokers, serial lines, disks, a browser. More of them side by side cost no more. */
const WAITING = [
  'tests/acceptance/{clock-steps,demo,full-disk,hanging-disk,ledger-backup,second-daemon,second-plant-on-mosquitto,site-on-mosquitto,site-on-serial}.test.ts',
  'tests/browser/*.test.ts',
  'tests/crash/kill.test.ts',
  'tests/edge/*.test.ts',
  'tests/simulation/plant-{mqtt,serial}.test.ts',
]
/**
 * They compute and leave nothing behind: no file, no clock, no spy. What one has loaded the next one need not load again,
 * which halves what they cost.
 */
const PURE = [
  'tests/unit/{chemistry,core,formulation,page,reservoir,simulator,trial}/**/*.test.ts',
  'tests/{diaries,house,safety}/**/*.test.ts',
  // one of them mocks a module, and must load it anew
  'tests/unit/config/!(unit-library).test.ts',
]
const EVERY_TEST = 'tests/**/*.test.ts'
/** One mocks a module, the other loads what it writes. */
const FILE_BY_FILE = ['tests/unit/config/unit-library.test.ts', 'tests/acceptance/readme-example.test.ts']
const alias = { tarnward: new URL('./src/reservoir/index.ts', import.meta.url).pathname }
/** A bundle is made once, so watching needs the files themselves, and so does counting what was covered. */
const isBundled = process.argv.includes('run') && !process.argv.some((word) => word.startsWith('--coverage'))

export default defineConfig({
  resolve: { alias },
  plugins: isBundled ? [bundledTests({ leftOut: FILE_BY_FILE, alias })] : [],
  test: {
    execArgv: ['--enable-source-maps'],
    setupFiles: ['tests/support/chance.ts'],
    // Generous: a machine that is busy with something else fails no test.
    testTimeout: 240_000,
    hookTimeout: 240_000,
    fileParallelism: true,
    sequence: { sequencer: LongestFirst },
    // One group after the other, so that what computes has the two cores to itself and what waits has company.
    projects: [
      {
        extends: true,
        test: {
          ...{ name: 'pure', include: PURE },
          isolate: false,
          maxWorkers: 2,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'computing',
          include: [EVERY_TEST],
          exclude: ['node_modules/**', ...WAITING, ...PURE],
          maxWorkers: 2,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: { name: 'waiting', include: WAITING, maxWorkers: 3, sequence: { groupOrder: 1 } },
      },
    ],
  },
})
