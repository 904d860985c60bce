/** Every limit as people see it: what it means, what it is, how far it may go, and who changed it last and why. */

import { isElementName } from '../../../chemistry/element.ts'
import type { Configuration } from '../../../config/configuration.ts'
import { type LimitInFile, limitsInFile } from '../../../config/limit-path.ts'
import { limitsSchema } from '../../../config/limits-schema.ts'
import { boundsOf, meaningOf, unitOf } from '../../../config/schema-issue.ts'
import { spoken } from '../../../core/plan/wording.ts'
import { valueInForce } from '../../../reservoir/limit-change.ts'
import type { ReservoirState } from '../../../reservoir/state.ts'
import type { Limit, Limits } from '../schema/limits.ts'

export function limitsView(configuration: Configuration, state: ReservoirState): Limits {
  return { limits: limitsInFile(configuration.limits).map((limit) => limitView(limit, state)) }
}

function limitView(limit: LimitInFile, { changedLimits }: ReservoirState): Limit {
  const { path, at, value: fileValue, looser, loosest } = limit
  const change = changedLimits[path]
  const { min, max } = boundsOf(limitsSchema, at) ?? { min: Number.MIN_SAFE_INTEGER, max: Number.MAX_SAFE_INTEGER }
  return {
    path,
    group: groupOf(path),
    meaning: `${subjectOf(path)}${meaningOf(limitsSchema, at) ?? path}`,
    unit: unitOf(limitsSchema, at),
    value: valueInForce(limit, changedLimits),
    fileValue,
    ...(looser === 'higher' ? { ceiling: loosest } : {}),
    ...(looser === 'lower' ? { floor: loosest } : {}),
    ...{ min, max, isChangeable: looser !== 'fact' },
    ...(change ? { changed: { by: change.by, atMs: change.atMs, reason: change.reason, from: change.from } } : {}),
  }
}

/** Whom it is about, where its heading does not say: one of twelve elements, or the stock that is waited for. */
function subjectOf(path: string): string {
  const [first, second, third, fourth] = path.split('.')
  if (first === 'elements' && second !== undefined)
    return isElementName(second) ? `${second}, ${spoken(second)}: ` : `${second}: `
  return third === 'apart' ? `${fourth}: ` : ''
}

/** As the page’s headings have it: what stands alone in the file goes under one heading. */
function groupOf(path: string): string {
  const [first, second] = path.split('.')
  if (second === undefined) return 'approval'
  return first === 'stocks' ? `stock ${second}` : first!
}
