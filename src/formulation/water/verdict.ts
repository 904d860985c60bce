/** May this water be used for this crop, and what has to be done to it? */

import { type AcidOption, acidOptions, judgeAcidity } from './acidity.ts'
import { type Criterion, type Level, percentText, type WaterQuestion } from './criterion.ts'
import { judgeSalinity } from './salinity.ts'
import { judgeTraces } from './trace.ts'

export interface WaterVerdict {
  readonly water: string
  readonly crop: string
  /** the worst of all criteria; what was not measured is left out and named in `notMeasured` */
  readonly level: Exclude<Level, 'unknown'>
  readonly sentence: string
  readonly criteria: readonly Criterion[]
  readonly acids: readonly AcidOption[]
  /** the largest share any criterion asks for; absent where none does */
  readonly reverseOsmosisShare?: number
  readonly notMeasured: readonly string[]
}

const ORDER: readonly Exclude<Level, 'unknown'>[] = ['good', 'watch', 'treat', 'refuse']
/** Without these nothing can be said of the water as a whole. */
const NEEDED: readonly string[] = ['alkalinity', 'sodium', 'chloride']

/** A verdict criterion by criterion and as a whole. Figures and classes come from guides, decisions from chemistry. */
export function judgeWater(question: WaterQuestion): WaterVerdict {
  const criteria = [...judgeSalinity(question), ...judgeAcidity(question), ...judgeTraces(question)]
  const level = ORDER.findLast((one) => criteria.some((criterion) => criterion.level === one)) ?? 'good'
  const shares = criteria.flatMap(({ reverseOsmosisShare }) => reverseOsmosisShare ?? [])
  const notMeasured = criteria.filter(({ level: one }) => one === 'unknown').map(({ name }) => name)
  return {
    water: question.water.name,
    crop: question.crop.name,
    level,
    sentence: sentenceOf(level, criteria, notMeasured),
    criteria,
    acids: acidOptions(question),
    ...(shares.length > 0 ? { reverseOsmosisShare: Math.max(...shares) } : {}),
    notMeasured,
  }
}

const OPENING: Readonly<Record<WaterVerdict['level'], string>> = {
  good: 'Use it as it is',
  watch: 'Use it, and keep an eye on',
  treat: 'Use it after treatment, for',
  refuse: 'Not as it is, for',
}

function sentenceOf(
  level: WaterVerdict['level'],
  criteria: readonly Criterion[],
  notMeasured: readonly string[],
): string {
  const names = criteria.filter((criterion) => criterion.level === level).map(({ name }) => wordsOf(name))
  const opening = level === 'good' ? OPENING.good : `${OPENING[level]} ${listed(names)}`
  const shares = criteria.flatMap((criterion) =>
    criterion.level === 'refuse' ? (criterion.reverseOsmosisShare ?? []) : [],
  )
  const mixed = shares.length > 0 ? `; with ${percentText(Math.max(...shares))} of reverse-osmosis water it serves` : ''
  const open = notMeasured.filter((name) => NEEDED.includes(name)).map(wordsOf)
  const missing =
    open.length > 0
      ? `. This is not the last word: ${listed(open)} ${open.length > 1 ? 'were' : 'was'} not measured`
      : ''
  return `${opening}${mixed}${missing}.`
}

/** The name of a criterion for people. */
export function wordsOf(name: string): string {
  return name === 'sodiumAndChloride' ? 'sodium and chloride together' : name
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}
