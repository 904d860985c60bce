/** The headings of columns, and of the lines above a table, that are no analytes. */

import { withoutAccents } from './analyte.ts'
import type { Cell } from './cell.ts'
import { isComparedWith } from './compared-with.ts'
import { type ColumnRole, HEADINGS } from './headings.ts'
import { readUnit } from './unit.ts'

const ROLES = new Map(
  Object.entries(HEADINGS).flatMap(([role, names]) => names.map((name) => [name, role as ColumnRole] as const)),
)

/** For messages: what a heading may be for. */
export const ROLES_SHOWN = Object.keys(HEADINGS).join(', ')

/** Is this text one of the roles? */
export function isColumnRole(text: string): text is ColumnRole {
  return Object.hasOwn(HEADINGS, text)
}

/** What a column is for by its heading, or undefined: then it is an analyte, a sample, or unknown. */
export function columnRole(heading: string): ColumnRole | undefined {
  const name = headingText(heading)
  const whole = ROLES.get(name)
  if (whole !== undefined) return whole
  const bare = withoutBracket(name)
  if (isComparedWith(bare)) return 'aside'
  if (bare === name) return undefined
  const role = ROLES.get(bare)
  // 'Result (as CaCO3)' says more than that it is the result, and may not be lost
  if (role === 'value') return unitInHeading(heading) === undefined ? undefined : role
  if (role === 'sampled' && HOW_DAYS_ARE_WRITTEN.test(name)) return role
  return role === 'aside' ? role : undefined
}

/** ‘Collected (UTC)’, ‘Sampled (dd/mm/yyyy)’; any other zone is not known here. */
const HOW_DAYS_ARE_WRITTEN =
  /[([](?:utc|gmt|local(?: time)?|(?:d{1,2}|m{1,2}|y{2,4})(?:[-/.](?:d{1,2}|m{1,2}|y{2,4})){2}(?: hh:mm(?::ss)?)?)[)\]]$/

/** A time of day below a heading that says UTC is in UTC, unless it says so itself. */
export function inZoneOf(heading: string, cell: Cell | undefined): Cell | undefined {
  const isUtc = /[([](?:utc|gmt)[)\]]$/.test(headingText(heading))
  const hasTime = cell !== undefined && /\d[T ,]+\d{1,2}[:.h]\d{2}(?::\d{2}(?:\.\d+)?)?$/.test(cell.text)
  return isUtc && hasTime ? { ...cell, text: `${cell.text}Z` } : cell
}

/** The unit that stands in the heading of a column of results: ‘Result (ppm)’, ‘Messwert [mg/l]’. */
export function unitInHeading(heading: string): string | undefined {
  const inside = /[([]([^)\]]*)[)\]]\s*$/.exec(heading)?.[1]
  return inside !== undefined && readUnit(inside) !== undefined ? inside : undefined
}

function withoutBracket(name: string): string {
  return name.replace(/\s*[([][^)\]]*[)\]]$/, '')
}

/** As headings are spelled in the lists: 'ClientSampleID' and 'client_sample_id' are 'client sample id'. */
export function headingText(heading: string): string {
  return withoutAccents(heading)
    .replaceAll(/(?<=[a-z])(?=[A-Z])/g, ' ')
    .toLowerCase()
    .replaceAll('_', ' ')
    .replace(/:$/, '')
    .replaceAll(/\s+/g, ' ')
    .trim()
}

/** ‘Date’ alone may be the day of sampling, of receipt or of the report; only the first is of use. */
export function dateHint(heading: string): string | undefined {
  return /\b(?:date|datum|fecha)\b/i.test(heading) ? 'Say of what: sampled, received or reported.' : undefined
}
