/** Files that carry a report’s name and hold something else. */

import { type Trouble, troubleAt } from './cell.ts'

const ALLOWED = 'a report in CSV or JSON, as text'
const SAVE = 'Open it where it came from and save it as CSV (UTF-8).'

/** Beginnings of files that no laboratory table has, in lower case. */
const BEGINNINGS: readonly (readonly [string, string])[] = [
  ['pk\u0003\u0004', 'a packed spreadsheet or archive, not text'],
  ['%pdf', 'a PDF, not text'],
  ...['<!doctype', '<html', '<head', '<body', '<table'].map((begin) => [begin, 'a web page (HTML)'] as const),
  ['<?xml', 'XML'],
]

/**
 * More than these shares of a text, and it is none. Judgement: a micro sign lost to another encoding is told where it
 * stands.
 */
const CONTROL_SHARE = 0.02
const UNREAD_SHARE = 0.1

/** What is wrong with the file as a whole, or undefined where it may be a report. */
export function notAReport(text: string): Trouble | undefined {
  const begin = text
    .replace(/^\ufeff/, '')
    .trimStart()
    .slice(0, 20)
    .toLowerCase()
  const found = BEGINNINGS.find(([beginning]) => begin.startsWith(beginning))?.[1]
  if (found !== undefined) return troubleAt(START, found, ALLOWED, SAVE)
  const isText =
    count(text, isControl) <= CONTROL_SHARE * text.length && count(text, isUnread) <= UNREAD_SHARE * text.length
  if (isText) return undefined
  return troubleAt(START, 'bytes that are no text in UTF-8', ALLOWED, SAVE)
}

const START = { text: '', line: 1, column: 1 }

function isControl(code: number): boolean {
  return code < 32 && code !== 9 && code !== 10 && code !== 13
}

/** The mark that stands for bytes which are no UTF-8. */
function isUnread(code: number): boolean {
  return code === 0xfffd
}

function count(text: string, holds: (code: number) => boolean): number {
  let counted = 0
  for (let at = 0; at < text.length; at++) if (holds(text.charCodeAt(at))) counted++
  return counted
}
