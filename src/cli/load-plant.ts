import { existsSync } from 'node:fs'
import { loadScenario, siteOfScenario } from '../../simulator/load-scenario.ts'
import type { Scenario } from '../../simulator/scenario.ts'
import type { Configuration } from '../config/configuration.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'

/** The plant of a scenario file and the site file that stands for it: `site` in the scenario, relative to it. */
export async function loadPlant(
  scenarioFile: string,
): Promise<{ readonly configuration: Configuration; readonly scenario: Scenario }> {
  let scenario: Scenario
  if (!existsSync(scenarioFile))
    throw new CommandFailure('no-input', `${scenarioFile}: there is no such scenario file; config/scenarios has some`)
  try {
    scenario = loadScenario(scenarioFile)
  } catch (error) {
    throw new CommandFailure('data', error instanceof Error ? error.message : String(error))
  }
  const siteFile = siteOfScenario(scenarioFile)
  if (!siteFile)
    throw new CommandFailure(
      'data',
      `${scenarioFile}: no "site"; a scenario to be run by a controller names its site file`,
    )
  return { configuration: await readConfiguration(siteFile), scenario }
}
