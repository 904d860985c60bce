/**
 * The kinds of values that stand in configuration files. Convention of this room: the `error` of a schema says what
 * is allowed, its description says what the value means; the message to a person is made of the two.
 */

import { z } from 'zod'
import { ELEMENTS, type ElementName } from '../chemistry/element.ts'
import { ID_ALLOWED, ID_PATTERN } from '../contract/message.ts'
import { type QuantityUnit, readUnitText } from './unit-text.ts'

/** A plain number within bounds, both allowed. */
export function number(min: number, max: number, description: string, unit = '') {
  const error = `${min} to ${max}${unit === '' ? '' : ` ${unit}`}`
  return z.number({ error }).min(min, { error }).max(max, { error }).meta({ description })
}

/** A whole number within bounds, both allowed. */
export function whole(min: number, max: number, description: string) {
  const error = `a whole number from ${min} to ${max}`
  return z.int({ error }).min(min, { error }).max(max, { error }).meta({ description })
}

/** A share, 0 to 1. */
export function share(description: string) {
  return number(0, 1, description)
}

/** A number in the unit that its key names, or a text with a unit that fits, which is converted. */
export function quantity(unit: QuantityUnit, min: number, max: number, description: string) {
  const convert = (value: unknown, context: { issues: unknown[] }) =>
    typeof value === 'string' ? convertText(value, unit, context) : value
  return z.preprocess(convert, number(min, max, description, unit)).meta({ description })
}

async function convertText(text: string, unit: QuantityUnit, context: { issues: unknown[] }): Promise<unknown> {
  const reading = await readUnitText(text, unit)
  if (reading.kind === 'value') return reading.value
  const allowed = `a number in ${unit}, or a text with one of the units ${reading.fitting.join(', ')}`
  context.issues.push({ code: 'custom', message: allowed, input: text })
  return z.NEVER
}

/** The name of a node, probe, pump, stock, crop or cohort: as the device contract spells ids. */
export function id(description: string) {
  return z.string({ error: ID_ALLOWED }).regex(ID_PATTERN, { error: ID_ALLOWED }).meta({ description })
}

/** Any text of one line. */
export function text(description: string, maxLength = 200) {
  const error = `a text of 1 to ${maxLength} characters on one line`
  return z
    .string({ error })
    .regex(/^[^\r\n]+$/, { error })
    .max(maxLength, { error })
    .meta({ description })
}

/** One of a closed list. */
export function choice<const Options extends readonly [string, ...string[]]>(options: Options, description: string) {
  return z.enum(options, { error: `one of ${options.join(', ')}` }).meta({ description })
}

/** True or false. */
export function flag(description: string) {
  return z.boolean({ error: 'true or false' }).meta({ description })
}

/** A day such as 2026-03-02. */
export function day(description: string) {
  return z.iso.date({ error: 'a day of the calendar, such as 2026-03-02' }).meta({ description })
}

/** A moment of the local day, '06:00' to '24:00'. */
export function timeOfDay(description: string) {
  const error = "a time of day such as '06:00', in quotes, up to '24:00'"
  return z
    .string({ error })
    .regex(/^(?:([01]\d|2[0-3]):[0-5]\d|24:00)$/, { error })
    .meta({ description })
}

/** A map with one entry for every tracked element that the schema for it makes. */
export function perElement<Schema extends z.ZodType>(schemaFor: (element: ElementName) => Schema, description: string) {
  const shape = Object.fromEntries(ELEMENTS.map((element) => [element, schemaFor(element)]))
  return z.strictObject(shape as Record<ElementName, Schema>).meta({ description })
}

/** mg/L of the element; an element left out is 0. */
export function elementsMgPerL(description: string) {
  const most = (element: ElementName) =>
    quantity('mg/L', 0, 5000, `${element}, mg/L of the element${element.endsWith('-N') ? ' nitrogen' : ''}`).default(0)
  return perElement(most, description)
}
