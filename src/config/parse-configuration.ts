/** From the four texts to a configuration, or to all that is wrong with them. */

import type { z } from 'zod'
import { checkAll } from './check.ts'
import { type Configuration, type Crops, deepFreeze, type Limits, type Salts, type Site } from './configuration.ts'
import { type ConfigurationError, sortErrors } from './configuration-error.ts'
import { cropsSchema } from './crops-schema.ts'
import { limitsSchema } from './limits-schema.ts'
import { localMidnightMs } from './local-midnight.ts'
import { saltsSchema } from './salts-schema.ts'
import { explainIssue } from './schema-issue.ts'
import { type SiteFile, siteSchema } from './site-schema.ts'
import { readYamlFile, type YamlFile } from './yaml-file.ts'

export interface NamedText {
  /** the file’s name, for messages */
  readonly name: string
  readonly text: string
}

export interface ConfigurationTexts {
  readonly site: NamedText
  readonly limits: NamedText
  readonly crops: NamedText
  readonly salts: NamedText
}

export type ConfigurationReading =
  | { readonly ok: true; readonly configuration: Configuration }
  | { readonly ok: false; readonly errors: readonly ConfigurationError[] }

/** A file with what its schema made of it; `value` only where the schema had nothing to say. */
export interface ReadFile<Value> {
  readonly file: YamlFile
  readonly value?: Value
  readonly errors: readonly ConfigurationError[]
}

/**
 * Parses and cross-checks the four files. All errors of all files come at once, in reading order.
 * Asynchronous only because a quantity typed with a unit loads the unit library.
 */
export async function parseConfiguration(texts: ConfigurationTexts): Promise<ConfigurationReading> {
  const [site, limits, crops, salts] = await Promise.all([
    readFile(texts.site, siteSchema),
    readFile(texts.limits, limitsSchema),
    readFile(texts.crops, cropsSchema),
    readFile(texts.salts, saltsSchema),
  ])
  const files = { site, limits, crops, salts }
  const errors = [...Object.values(files).flatMap((read) => read.errors), ...checkAll(files)]
  if (errors.length > 0) {
    return {
      ok: false,
      errors: sortErrors(
        errors,
        Object.values(files).map(({ file }) => file.name),
      ),
    }
  }
  const configuration = {
    site: withMoments(site.value!) as unknown as Site,
    limits: limits.value! as unknown as Limits,
    crops: crops.value!.crops as unknown as Crops,
    salts: salts.value! as unknown as Salts,
  }
  return { ok: true, configuration: deepFreeze(configuration) }
}

/** One file through its schema. */
export async function readFile<Schema extends z.ZodType>(
  { name, text }: NamedText,
  schema: Schema,
): Promise<ReadFile<z.output<Schema>>> {
  const file = readYamlFile(name, text)
  if (file.data === undefined) return { file, errors: file.errors }
  const result = await schema.safeParseAsync(file.data)
  if (result.success) return { file, value: result.data, errors: [] }
  return { file, errors: result.error.issues.flatMap((issue) => explainIssue(issue, file, schema)) }
}

function withMoments(site: SiteFile) {
  const cohorts = site.cohorts.map((cohort) => ({
    ...cohort,
    transplantedAtMs: localMidnightMs(cohort.transplantedOn, site.zone),
    ...(cohort.harvestedOn === undefined ? {} : { harvestedAtMs: localMidnightMs(cohort.harvestedOn, site.zone) }),
  }))
  return { ...site, cohorts }
}
