// The plant as a process of its own.

import { renameSync, writeFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { loadScenario } from './load-scenario.ts'
import { type MqttPlant, startMqttPlant } from './mqtt-plant.ts'

const USAGE = `A simulated plant on a broker.
  --broker URL      such as mqtt://127.0.0.1:1883
  --site NAME       the site's name in the topics
  --scenario FILE   such as config/scenarios/light.yaml
  --seed N          1 unless given
  --scale N         plant time over wall time, 1 unless given
  --start TIME      day 0 of the plant: 'now' or an ISO time; the scenario's own unless given
  --prefix TOPIC    above the site's name; the contract's own unless given
  --state FILE      keeps what was received, so that a restart goes on where the plant was
  --pump-log FILE   rewritten every second with what each pump has really done
SIGUSR1 prints that as a line of JSON; SIGTERM and SIGINT print it and end the process.`

function readArguments() {
  const text = { type: 'string' } as const
  const { values } = parseArgs({
    options: {
      ...{ broker: text, site: text, scenario: text, seed: text, scale: text, start: text },
      ...{ prefix: text, state: text, 'pump-log': text },
    },
  })
  const { broker, site, scenario, seed = '1', scale = '1', start, prefix, state, 'pump-log': pumpLog } = values
  if (broker === undefined || site === undefined || scenario === undefined)
    throw new Error(`broker, site and scenario are needed\n${USAGE}`)
  if (!Number.isSafeInteger(Number(seed))) throw new Error(`--seed ${seed}: a whole number is needed`)
  if (!(Number(scale) > 0)) throw new Error(`--scale ${scale}: a number above 0 is needed`)
  const startAtMs = start === undefined ? undefined : start === 'now' ? Date.now() : Date.parse(start)
  if (Number.isNaN(startAtMs)) throw new Error(`--start ${start}: 'now' or an ISO time is needed`)
  return { broker, site, scenario, seed: Number(seed), scale: Number(scale), startAtMs, prefix, state, pumpLog }
}

/** What each pump has really done, as one line. */
function pumpLine(plant: MqttPlant): string {
  const { atMs, pumps } = plant.world.truth()
  return JSON.stringify({ atMs, nowMs: plant.nowMs(), pumps })
}

function main(): void {
  const { broker, site, scenario, seed, scale, startAtMs, prefix, state, pumpLog } = readArguments()
  const plant = startMqttPlant({
    ...{ brokerUrl: broker, site, scenario: loadScenario(scenario), seed, scale },
    ...(startAtMs === undefined ? {} : { startAtMs }),
    ...(prefix === undefined ? {} : { prefix }),
    ...(state === undefined ? {} : { stateFile: state }),
  })
  const log = () => {
    if (pumpLog === undefined) return
    writeFileSync(`${pumpLog}.new`, `${pumpLine(plant)}\n`)
    renameSync(`${pumpLog}.new`, pumpLog)
  }
  const timer = setInterval(log, 1000)
  const end = async () => {
    clearInterval(timer)
    process.stdout.write(`${pumpLine(plant)}\n`)
    log()
    await plant.stop()
    process.exit(0)
  }
  process.on('SIGUSR1', () => process.stdout.write(`${pumpLine(plant)}\n`))
  process.once('SIGTERM', () => void end())
  process.once('SIGINT', () => void end())
}

try {
  main()
} catch (problem) {
  process.stderr.write(`${problem instanceof Error ? problem.message : String(problem)}\n`)
  process.exit(2)
}
