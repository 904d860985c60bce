import type { Configuration } from '../config/configuration.ts'
import { formatConfigurationError } from '../config/configuration-error.ts'
import { loadConfiguration } from '../config/load-configuration.ts'
import { CommandFailure } from './command-failure.ts'

/** The configuration of a site file, or a failure that lists every error, each with file, line and column. */
export async function readConfiguration(siteFile: string): Promise<Configuration> {
  const read = await loadConfiguration(siteFile)
  if (read.ok) return read.configuration
  throw new CommandFailure('configuration', read.errors.map(formatConfigurationError).join('\n'))
}
