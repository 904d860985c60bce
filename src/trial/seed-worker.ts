/** A worker thread of a campaign: one controller on one seed at a time. */

import { parentPort, workerData } from 'node:worker_threads'
import type { CampaignSetup, SeedTask } from './campaign.ts'
import { runTrial } from './run-trial.ts'
import { outcomeOf } from './trial-outcome.ts'

const { configuration, scenario, days } = workerData as CampaignSetup

parentPort?.on('message', ({ controller, seed }: SeedTask) => {
  try {
    const trial = runTrial({ configuration, scenario, controller, days, seed }, () => performance.now())
    parentPort?.postMessage({ result: outcomeOf(trial, seed) })
  } catch (error) {
    parentPort?.postMessage({ failure: error instanceof Error ? error.message : String(error) })
  }
})
