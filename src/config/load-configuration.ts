/** Reads a site from disk. */

import { readFile } from 'node:fs/promises'
import { dirname, relative, resolve } from 'node:path'
import type { ConfigurationError } from './configuration-error.ts'
import { type ConfigurationReading, type NamedText, parseConfiguration } from './parse-configuration.ts'
import { readYamlFile, type YamlFile } from './yaml-file.ts'

const PARTS = ['limits', 'crops', 'salts'] as const
type Part = (typeof PARTS)[number]

/**
 * Reads the site file and the three files it names, relative to itself.
 *
 * @param siteFile path of the site file
 * @param other a file to take in place of one the site names, such as other limits for a preview; relative to the
 *   working directory
 * @returns the configuration, or every error; a file that cannot be read is an error at the key that names it
 */
export async function loadConfiguration(
  siteFile: string,
  other: Readonly<Partial<Record<Part, string>>> = {},
): Promise<ConfigurationReading> {
  const text = await read(siteFile)
  if (text === undefined) return { ok: false, errors: [unreadable(siteFile, { line: 1, column: 1 }, '')] }
  const site = { name: shown(siteFile), text }
  const file = readYamlFile(site.name, text)
  const parts = await Promise.all(PARTS.map((part) => readPart(part, siteFile, file, other[part])))
  const [limits, crops, salts] = parts.map((part) => ('text' in part ? part : ABSENT))
  const reading = await parseConfiguration({ site, limits: limits!, crops: crops!, salts: salts! })
  if (reading.ok) return reading
  const missing = parts.filter((part) => 'found' in part)
  return { ok: false, errors: [...missing, ...reading.errors.filter((error) => error.file !== ABSENT.name)] }
}

/** Stands in for a file that is not there, so that the others are still judged; its own errors are dropped. */
const ABSENT: NamedText = { name: '', text: '' }

/** A part that the site does not name is left to the schema of the site to complain of. */
async function readPart(
  part: Part,
  siteFile: string,
  site: YamlFile,
  other: string | undefined,
): Promise<NamedText | ConfigurationError> {
  const named = other ?? (site.data as Partial<Record<Part, unknown>> | null | undefined)?.[part]
  if (typeof named !== 'string') return ABSENT
  const path = other === undefined ? resolve(dirname(siteFile), named) : named
  const text = await read(path)
  if (text !== undefined) return { name: shown(path), text }
  return other === undefined
    ? { ...unreadable(path, site.placeOf([part]), part), file: site.name }
    : unreadable(path, { line: 1, column: 1 }, '')
}

async function read(path: string): Promise<string | undefined> {
  try {
    return await readFile(path, 'utf8')
  } catch {
    return undefined
  }
}

function unreadable(path: string, place: { line: number; column: number }, key: string): ConfigurationError {
  const found = `no readable file at ${shown(path)}`
  const message = 'Check the path and that this user may read it.'
  return { file: shown(path), ...place, path: key, found, allowed: 'a file', message }
}

/** Below the working directory the short way, else in full. */
function shown(path: string): string {
  const short = relative('', path)
  return short === '' || short.startsWith('..') ? path : short
}
