/** The stored sites as the loop wants them. */

import { readFile } from 'node:fs/promises'
import type { Configuration } from '../../../src/config/configuration.ts'
import { loadConfiguration } from '../../../src/config/load-configuration.ts'
import { type NamedText, parseConfiguration } from '../../../src/config/parse-configuration.ts'
import type { CoreSettings } from '../../../src/core/settings.ts'
import { coreSettings } from '../../../src/reservoir/configure.ts'

/** The test bench: 220 L, four stocks, two cohorts, every probe, mode observe. */
export async function quarryLane(mode: 'observe' | 'advise' | 'automatic' = 'observe'): Promise<Configuration> {
  const [site, limits, crops, salts] = await Promise.all(['site', 'limits', 'crops', 'salts'].map(fixture))
  const armed = { ...limits!, text: limits!.text.replace('mode: observe ', `mode: ${mode} `) }
  return opened(await parseConfiguration({ site: site!, limits: armed, crops: crops!, salts: salts! }))
}

/** The light site: 200 L, six stocks, mode automatic. */
export async function lightSite(): Promise<Configuration> {
  return opened(await loadConfiguration(new URL('../../../config/light/site.yaml', import.meta.url).pathname))
}

export async function quarryLaneCore(): Promise<CoreSettings> {
  return coreSettings(await quarryLane())
}

async function fixture(part: string): Promise<NamedText> {
  const path = new URL(`../../fixtures/config/${part}.yaml`, import.meta.url)
  return { name: `${part}.yaml`, text: await readFile(path, 'utf8') }
}

function opened(reading: Awaited<ReturnType<typeof parseConfiguration>>): Configuration {
  if (!reading.ok) throw new Error(JSON.stringify(reading.errors))
  return reading.configuration
}
