/** The simulated plant as a process of its own, and its own word on what each pump really did. */

import { setTimeout as wait } from 'node:timers/promises'
import type { BenchSite } from './bench-site.ts'
import { type Running, startScript } from './tarnward.ts'

export interface PumpTruth {
  readonly runs: number
  readonly ranMs: number
}

export interface PlantProcess {
  readonly process: Running
  /** asks the plant now */
  pumps(): Promise<Readonly<Record<string, PumpTruth>>>
}

/** Starts the plant of a site against a broker. */
export function startPlant(site: BenchSite, broker: string, more: readonly string[]): PlantProcess {
  const process = startScript(
    'simulator/main.ts',
    ...['--broker', broker, '--site', site.name, '--scenario', site.scenarioFile, ...more],
  )
  return {
    process,
    async pumps() {
      const before = process.text().length
      process.child.kill('SIGUSR1')
      for (let tries = 0; tries < 500; tries++) {
        const line = process.text().slice(before).split('\n')
        if (line.length > 1 && line[0] !== '')
          return (JSON.parse(line[0]!) as { pumps: Record<string, PumpTruth> }).pumps
        await wait(10)
      }
      throw new Error(`the plant did not answer; it said:\n${process.text()}`)
    },
  }
}
