/** Lines among the figures of one bottle that may name another: ‘South well’, ‘Sample 2’. */

import { type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { headingText } from './column.ts'
import { wordsOf } from './word-list.ts'

/** What bottles are filled from, and what they are called. */
const PLACES = new Set(
  wordsOf(`
    sample, bottle, tank, well, borehole, bore, reservoir, drain, feed, pond, basin, house, greenhouse, compartment, bay,
    tap, spring, hydrant, permeate, return, probe, flasche, brunnen, becken, abteilung, gewachshaus, monster, fles, bassin,
    bron, put, kas, afdeling, silo, echantillon, forage, puits, cuve, serre, muestra, pozo, balsa, deposito, drenaje,
    invernadero, campione, pozzo, vasca, serra, amostra, furo, poco, tanque, estufa, probka, studnia, zbiornik, prov, brunn,
    prove, boring, brond`),
)
/** More make a sentence. */
const WORDS_MAX = 5

/** Doubts at such lines; a name that stands above the figures too is that of their own bottle. */
export function doubtsOfOtherBottles(text: string, entries: readonly Entry[]): readonly Trouble[] {
  const figures = entries.map(({ value }) => value.line)
  const known = new Set(entries.flatMap(({ analyte, unit, value }) => [analyte.line, value.line, unit?.line ?? 0]))
  const [first, last] = [Math.min(...figures), Math.max(...figures)]
  const lines = text.split('\n')
  const above = plain(lines.slice(0, first - 1).join(' '))
  return lines.flatMap((content, at) => {
    const line = at + 1
    const alone = content.split(/[;,\t|"]+|\s{2,}/).filter((piece) => piece.trim() !== '')
    const [name] = alone
    if (line <= first || line >= last || known.has(line) || name === undefined || alone.length > 1) return []
    if (!mayNameBottle(name) || above.includes(plain(name))) return []
    const cell = { text: name.trim(), line, column: content.indexOf(name.trim()) + 1 }
    const message = 'If it names another bottle give its figures as a report of their own, else remove the line.'
    return [troubleAt(cell, `${quoted(cell.text)} among the figures`, 'the figures of one bottle', message)]
  })
}

function mayNameBottle(text: string): boolean {
  const words = plain(text).split(' ')
  return words.length <= WORDS_MAX && !/[.!?]$/.test(text.trim()) && words.some((word) => PLACES.has(word))
}

function plain(text: string): string {
  return headingText(text)
    .replaceAll(/[^\p{L}\d]+/gu, ' ')
    .trim()
}
