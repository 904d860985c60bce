/** The four texts of a stored site, and the same with one place changed. */

import { readFileSync } from 'node:fs'
import { formatConfigurationError } from '../../../src/config/configuration-error.ts'
import { type ConfigurationTexts, parseConfiguration } from '../../../src/config/parse-configuration.ts'

type Part = keyof ConfigurationTexts

const PARTS: readonly Part[] = ['site', 'limits', 'crops', 'salts']

export function exampleTexts(): Record<Part, { name: string; text: string }> {
  const read = (part: Part) => readFileSync(new URL(`../../fixtures/config/${part}.yaml`, import.meta.url), 'utf8')
  const parts = PARTS.map((part) => [part, { name: `${part}.yaml`, text: read(part) }])
  return Object.fromEntries(parts) as Record<Part, { name: string; text: string }>
}

export interface Change {
  readonly in: Part
  readonly replace: string
  readonly by: string
}

/** The example with places changed. Throws when a text to replace is not there, so that no test passes by accident. */
export function changedTexts(...changes: readonly Change[]): ConfigurationTexts {
  const texts = exampleTexts()
  for (const change of changes) {
    const part = texts[change.in]
    if (!part.text.includes(change.replace)) throw new Error(`${part.name} does not hold ${change.replace}`)
    part.text = part.text.replace(change.replace, () => change.by)
  }
  return texts
}

/** What a person would read after these changes; empty where all is well. */
export async function complaints(...changes: readonly Change[]): Promise<string[]> {
  const reading = await parseConfiguration(changedTexts(...changes))
  return reading.ok ? [] : reading.errors.map(formatConfigurationError)
}

/** `line:column` of a text in the example. */
export function placeOf(part: Part, text: string): string {
  const whole = exampleTexts()[part].text
  const at = whole.indexOf(text)
  if (at < 0) throw new Error(`${part}.yaml does not hold ${text}`)
  const before = whole.slice(0, at).split('\n')
  return `${before.length}:${before.at(-1)!.length + 1}`
}
