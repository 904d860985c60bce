// The edge where a scenario file becomes a scenario.

import { readFileSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { parse } from 'yaml'
import { readScenario, type Scenario } from './scenario.ts'
import { plantOfSite, saltsPathOf } from './site-plant.ts'

/**
 * Reads a scenario file (YAML 1.2). `site: PATH` in it, relative to the file, fills in what the site file and its
 * salts file already say; whatever the scenario itself says goes before that, key by key.
 *
 * @throws with the file's name and every problem in it, when it cannot be read or is not a scenario
 */
export function loadScenario(path: string): Scenario {
  const { site, startsAt, ...rest } = readYaml(path)
  const own = { startsAt, ...rest }
  const filled = typeof site === 'string' ? merge(fromSite(resolve(dirname(path), site), startsAt), own) : own
  const read = readScenario(filled)
  if (read.kind === 'scenario') return read.scenario
  throw new Error(`${path} is not a scenario:\n  ${read.problems.join('\n  ')}`)
}

/** The site file that a scenario names, or undefined where it stands alone. */
export function siteOfScenario(path: string): string | undefined {
  const { site } = readYaml(path)
  return typeof site === 'string' ? resolve(dirname(path), site) : undefined
}

function readYaml(path: string): Record<string, unknown> {
  const text: unknown = parse(readFileSync(path, 'utf8'))
  if (typeof text !== 'object' || text === null) throw new Error(`${path} holds no settings`)
  return text as Record<string, unknown>
}

function fromSite(path: string, startsAt: unknown): Record<string, unknown> {
  const site = readYaml(path)
  const salts = readYaml(resolve(dirname(path), saltsPathOf(site)))
  return plantOfSite(site, salts, Date.parse(String(startsAt)))
}

/** Objects are merged key by key, two levels deep at most; anything else is replaced. */
function merge(base: Record<string, unknown>, over: Record<string, unknown>): Record<string, unknown> {
  const both = Object.entries(over).map(([key, value]) => {
    const below = base[key]
    return [key, isObject(below) && isObject(value) ? { ...below, ...value } : value]
  })
  return { ...base, ...Object.fromEntries(both) }
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}
