/**
 * The long campaigns, each a test with a larger number:
 *   npm run campaign -- kill 200        the real daemon killed so many times while pumps run
 *   npm run campaign -- crash 200       deaths at every durable point, so many seeds on either side
 *   npm run campaign -- fuzz 1000000    mutated messages through decoder and step
 *   npm run campaign -- edges 20000     spoilt messages at the real edges: broker, line, HTTP, files
 *   npm run campaign -- gate 10000000   wishes asked of the gate and of the model of it that was written blind; a second
 *                                       number is the first seed
 *   npm run campaign -- second 10000000 the same with the older second model
 *   npm run campaign -- steps 1000000   grid steps of a filter, nineteen years at a million
 *   npm run campaign -- planted         bugs planted in the gate, which the ordinary tests must catch
 */

import { spawnSync } from 'node:child_process'
import { basename } from 'node:path'
import { buildSync } from 'esbuild'

/** A test with a larger number in an environment variable, a script, or a script that is bundled since speed counts. */
type Campaign =
  | { readonly variable: string; readonly files: readonly string[]; readonly usual: number }
  | { readonly script: string; readonly usual: number }
  | { readonly bundle: string; readonly usual: number }

const CACHE = 'node_modules/.cache/campaign'
/** Millions of small histories die young: with little room for them the collector takes an eighth of the time. */
const YOUNG_ROOM = '--max-semi-space-size=64'

const CAMPAIGNS: Readonly<Record<string, Campaign>> = {
  kill: { variable: 'TARNWARD_KILLS', files: ['tests/crash/kill.test.ts'], usual: 200 },
  crash: { variable: 'TARNWARD_CRASH_SEEDS', files: ['tests/crash/dies'], usual: 200 },
  fuzz: { variable: 'TARNWARD_FUZZ_MESSAGES', files: ['tests/fuzz/armed-site.test.ts'], usual: 1_000_000 },
  steps: { variable: 'TARNWARD_STEPS', files: ['tests/unit/core/estimate/long-run.test.ts'], usual: 1_000_000 },
  edges: { variable: 'TARNWARD_EDGE_MESSAGES', files: ['tests/fuzz/edges.test.ts'], usual: 20_000 },
  gate: { bundle: 'tests/safety/blind-model-campaign.ts', usual: 10_000_000 },
  second: { bundle: 'tests/safety/second-model-campaign.ts', usual: 10_000_000 },
  planted: { script: 'tests/mutation/plant.ts', usual: 1 },
}

function main([name = '', count, ...more]: readonly string[]): number {
  const campaign = CAMPAIGNS[name]
  if (campaign === undefined) {
    console.error(`campaign "${name}": there are ${Object.keys(CAMPAIGNS).join(', ')}, each with a number if you like`)
    return 2
  }
  const times = String(count ?? campaign.usual)
  if ('script' in campaign) return run(['--import', 'tsx', campaign.script, times, ...more], {})
  if ('bundle' in campaign) return run([YOUNG_ROOM, bundled(campaign.bundle), times, ...more], {})
  const { variable, files } = campaign
  const args = ['node_modules/vitest/vitest.mjs', 'run', '--disable-console-intercept', '--testTimeout', '7200000']
  return run([...args, ...files], { [variable]: times })
}

/** The file that a script becomes in one piece. */
function bundled(script: string): string {
  const outfile = `${CACHE}/${basename(script, '.ts')}.mjs`
  buildSync({ entryPoints: [script], outfile, bundle: true, platform: 'node', format: 'esm', logLevel: 'warning' })
  return outfile
}

function run(args: readonly string[], more: Readonly<Record<string, string>>): number {
  return spawnSync(process.execPath, args, { stdio: 'inherit', env: { ...process.env, ...more } }).status ?? 1
}

process.exitCode = main(process.argv.slice(2))
