/** Whether limits with other values would pass as a file: the schema’s bounds, and every check over several places. */

import { checkAll } from './check.ts'
import type { Configuration } from './configuration.ts'
import type { ConfigurationError } from './configuration-error.ts'
import { withLimits } from './limit-path.ts'
import { limitsSchema } from './limits-schema.ts'
import { explainIssue } from './schema-issue.ts'
import { readYamlFile } from './yaml-file.ts'

/** All that would be wrong; the limits as they are now are taken to be right. Values are numbers, so nothing waits. */
export function checkChangedLimits(
  configuration: Configuration,
  values: Readonly<Record<string, number>>,
): readonly ConfigurationError[] {
  const limits = asFile('limits', withLimits(configuration.limits, values))
  const result = limitsSchema.safeParse(limits.data)
  if (!result.success) return result.error.issues.flatMap((issue) => explainIssue(issue, limits, limitsSchema))
  const { site, crops, salts } = configuration
  return checkAll({
    site: { file: asFile('site', site), value: site },
    limits: { file: limits, value: result.data },
    crops: { file: asFile('crops', { crops }), value: { crops } },
    salts: { file: asFile('salts', salts), value: salts },
  })
}

/** Values that no file holds any more; JSON is YAML, so that errors find their places as ever. */
function asFile(name: string, value: unknown) {
  return readYamlFile(name, JSON.stringify(value))
}
