/** Columns and rows of a report that hold no results of a sample, and how sure that is. */

import { dateHint, headingText } from './column.ts'
import { isComparedWith } from './compared-with.ts'
import { readValue } from './number-text.ts'
import type { NotedValue } from './report.ts'
import { after, type Column, type Row } from './row.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

const RANGE = /^[<>≤≥]?\s*\d[\d.,]*\s*(?:[-–—]|to|bis|tot|à|a|do)\s*[<>≤≥]?\s*\d[\d.,]*(?![\d.,]|\s?[-–/])/i
/** ‘5.2 - 6.2’: what ought to be, or what several bottles had. */
export function isRange(text: string): boolean {
  return RANGE.test(text)
}

/** Words that say something against a figure. */
export function isAgainst(text: string): boolean {
  return /oxid|óxid|oxyd|ossid|estim|exceed|invalid|reject|error|contamin|ungültig|ongeldig|dilut|verd/i.test(text)
}

/** What may change the meaning of the figure in its row. */
const WEIGHTY =
  /\d|[<>≤≥]|oxid|óxid|oxyd|ossid|estim|exceed|above|below|invalid|reject|error|not |nicht|niet|non |pas |no /i
/** A flag, as U or J, is short; ‘ICP’ and words are not. */
const FLAG_LETTERS_MAX = 2

/**
 * May this column under an unknown heading be left aside? Where a cell could be a second result, a unit, a form or a flag
 * it may not: words do no harm, and ranges are never results.
 */
export function isHarmless({ cell: heading, at }: Column, rows: readonly Row[], { analyteOf }: Vocabulary): boolean {
  if (readUnit(heading.text)?.kind === 'other') return true
  if (dateHint(heading.text) !== undefined) return false
  const texts = rows.map((row) => row[at]?.text ?? '').filter((text) => text !== '')
  const isUnitOrForm = (text: string) => readUnit(text) !== undefined || analyteOf(text).analyte !== undefined
  if (texts.some(isUnitOrForm)) return false
  if (texts.some((text) => RANGE.test(text))) return true
  return texts.every((text) => text.length > FLAG_LETTERS_MAX && !WEIGHTY.test(text) && !isBelow(text))
}

function isBelow(text: string): boolean {
  return readValue(text, undefined).kind === 'below'
}

/** The note about a column left aside. */
export function columnNote({ cell, at }: Column, rows: readonly Row[]): NotedValue {
  const asWritten = rows.map((row) => row[at]?.text ?? '').find((text) => text !== '') ?? ''
  return { analyte: `column ${cell.text}`, asWritten, why: 'no result by all that stands in it' }
}

/** Checks of the laboratory’s own, by their codes and in words. */
const CHECK_CODE = /^(?:mb|lb|rb|lcs|lcsd|lfb|ms|msd|dup|ccv|ccb|icv|icb|crm|srm|qc)$/i
const CHECK_WORDS =
  /^(?:(?:method|reagent|laboratory|lab|calibration|instrument|preparation) blank|(?:lab|laboratory)(?: quality)? control(?: sample)?(?: duplicate)?|matrix spike(?: duplicate)?|(?:quality control|qc)(?: sample| check)?|(?:continuing |initial )?calibration (?:check|verification)(?: standard)?|certified reference material|laborblindwert|methodenblindwert|blanc de methode)\b/

/** Why a row is none of a sample, by the names in it; undefined where it is one. */
export function whyNoSample(label: string, kind: string): string | undefined {
  const name = headingText(label)
  if (isComparedWith(name)) return 'a row to compare results with'
  return CHECK_CODE.test(kind.trim()) || CHECK_WORDS.test(headingText(kind)) || CHECK_WORDS.test(name)
    ? 'a check of the laboratory’s own'
    : undefined
}

const FIGURE = /^(.*?)[\s:,;=]+([<≤]?\s?\d[\d.,]*)(?:[\s,;]+(.*))?$/

/** ‘Calcium 82 mg/L’ alone in a row is a figure that lost its columns, and no heading of a group or remark. */
export function isLostFigure(text: string, words: Vocabulary): boolean {
  const [, name, , unit] = FIGURE.exec(text) ?? []
  if (name === undefined) return false
  const isKnown = words.analyteOf(name).analyte !== undefined
  return isKnown || (readUnit(unit ?? '') !== undefined && name.split(' ').length <= WORDS_OF_NAME_MAX)
}

/** ‘Calcium 82 mg/L’, where a unit makes sure that it is one: ‘B 7’ may be a bottle. */
export function isFigureWithUnit(text: string, { analyteOf }: Vocabulary): boolean {
  const [, name, , unit] = FIGURE.exec(text) ?? []
  return name !== undefined && readUnit(unit ?? '') !== undefined && analyteOf(name).analyte !== undefined
}

const WORDS_OF_NAME_MAX = 4

/** The note about a row left aside. */
export function rowNote(label: string, row: Row, why: string): NotedValue {
  const asWritten = (row.find(({ text }) => readValue(text, undefined).kind === 'number') ?? after(row)).text
  return { analyte: `row ${label}`, asWritten, why }
}
