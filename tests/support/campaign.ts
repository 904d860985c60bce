/**
 * The long campaigns, each a test with a larger number:
 *   npm run campaign -- kill 200        the real daemon killed so many times while pumps run
 *   npm run campaign -- crash 200       deaths at every durable point, so many seeds on either side
 *   npm run campaign -- fuzz 1000000    mutated messages through decoder and step
 *   npm run campaign -- edges 20000     hostile bytes over MQTT, serial, HTTP and files
 *   npm run campaign -- gate 10000000   wishes asked of the gate and of its second model
 */

import { spawnSync } from 'node:child_process'

interface Campaign {
  readonly variable: string
  readonly files: readonly string[]
  readonly usual: number
}

const CAMPAIGNS: Readonly<Record<string, Campaign>> = {
  kill: { variable: 'TARNWARD_KILLS', files: ['tests/crash/kill.test.ts'], usual: 200 },
  crash: { variable: 'TARNWARD_CRASH_SEEDS', files: ['tests/crash/dies'], usual: 200 },
  fuzz: { variable: 'TARNWARD_FUZZ_MESSAGES', files: ['tests/fuzz/armed-site.test.ts'], usual: 1_000_000 },
  edges: { variable: 'TARNWARD_FUZZ_EDGES', files: ['tests/fuzz/edges'], usual: 20_000 },
  gate: { variable: '', files: [], usual: 10_000_000 },
}

function main([name = '', count]: readonly string[]): number {
  const campaign = CAMPAIGNS[name]
  if (campaign === undefined) {
    console.error(`campaign "${name}": there are ${Object.keys(CAMPAIGNS).join(', ')}, each with a number if you like`)
    return 2
  }
  const { variable, files, usual } = campaign
  const times = String(count ?? usual)
  const args =
    files.length === 0
      ? ['--import', 'tsx', 'tests/safety/second-model-campaign.ts', times]
      : ['node_modules/vitest/vitest.mjs', 'run', '--testTimeout', '7200000', ...files]
  const env = { ...process.env, ...(variable === '' ? {} : { [variable]: times }) }
  return spawnSync(process.execPath, args, { stdio: 'inherit', env }).status ?? 1
}

process.exitCode = main(process.argv.slice(2))
