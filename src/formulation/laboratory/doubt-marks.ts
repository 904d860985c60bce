/** Marks beside figures that the report itself explains as a doubt: ‘E: estimated, holding time exceeded’. */

import { type Entry, quoted, type Trouble, troubleAt } from './cell.ts'

/** A short mark at the beginning of a line or a cell, and what is said of it. */
const EXPLAINED = /(?:^|[\t;|"]|\.\s)\s*"?\s*([\p{L}*†‡#]{1,3}|\(\w\))\s*[:=–-]\s+?(\S[^\t|"]*)/gu
const STARRED = /^\s*"?\s*([*†‡#]{1,3})\s*[:=–-]?\s*(\S[^\t|"]*)/u
/** What makes a figure one that the laboratory does not stand for. */
const DOUBT =
  /(?<!\p{L})(?:estimat\p{L}*|approximate|holding time|hold time|past (?:the )?hold|not valid|invalid|unreliable|doubtful|questionable|contaminat\p{L}*|blank contamination|geschätzt\p{L}*|schätzwert\p{L}*|ungültig\p{L}*|nicht (?:gültig|belastbar|verwertbar)|unsicher|lagerzeit|haltbarkeit|estim[ée]\p{L}*|estimad\p{L}*|stimat\p{L}*|valor estimado|fora do prazo|sem validade|hors d[ée]lai|non valide|non fiable|fuera de plazo|sin validez|no válido|fuori termine|non valido|non affidabile|geschat\p{L}*|ongeldig|niet betrouwbaar|onbetrouwbaar|bewaartermijn|szacun\p{L}*|nieważn\p{L}*|uppskattat|ej giltig\p{L}*|skønnet|ugyldig\p{L}*)(?!\p{L})/iu
/** ‘Estimated, below the reporting limit’ is a small figure known roughly, which does no harm. */
const SMALL =
  /(?<!\p{L})(?:below|between|less than|under|unter|onder|inf[ée]rieur\p{L}*|sotto|abaixo|debajo|poniżej|under)(?!\p{L}).*(?:limit|grenze|grens|granic|gräns|\b(?:loq|rl|pql|mdl|lod)\b)/iu
/** How well a figure is known is told of every one. */
const UNCERTAINTY = /uncertaint|unsicherheit|incert|onzekerheid|niepewno|osäkerhet|usikkerhed/iu
/** pH is seldom measured within the minutes that are allowed for it. */
const HOLDING =
  /hold(?:ing)? time|past (?:the )?hold|lagerzeit|hors d[ée]lai|fora do prazo|fuera de plazo|fuori termine|bewaartermijn/iu
/** ‘Not estimated’, ‘no contamination’. */
const DENIED = /(?<!\p{L})(?:no|not|none|nicht|kein\p{L}*|niet|geen|non|pas|sans|sin|sem|senza|ej|ikke)(?: \p{L}+)? $/iu

interface Mark {
  readonly mark: string
  readonly says: string
  readonly line: number
}

/** Doubts where a figure that would be used stands beside such a mark. */
export function doubtsOfMarks(
  text: string,
  entries: readonly Entry[],
  isPh: (entry: Entry) => boolean,
): readonly Trouble[] {
  const lines = text.split('\n')
  const marks = lines.flatMap((content, at) => marksIn(content, at + 1))
  if (marks.length === 0) return []
  return marks.flatMap(({ mark, says, line }) => {
    const weighed = HOLDING.test(says) ? entries.filter((entry) => !isPh(entry)) : entries
    const figures = new Set(weighed.map(({ value }) => value.line))
    return [...figures].flatMap((at) => {
      const column = at === line ? undefined : placeOf(mark, lines[at - 1]!)
      if (column === undefined) return []
      const found = `the mark ${quoted(mark)} beside a figure, of which line ${line} says ${quoted(says)}`
      const message = 'Ask the laboratory for a sound figure, or name it among the analytes to ignore.'
      return [troubleAt({ text: mark, line: at, column }, found, 'figures that the laboratory stands for', message)]
    })
  })
}

/** ‘ND (1)’ where a line begins with (1): the bracket may hold a limit or the number of a note. */
export function doubtsOfNotes(text: string, entries: readonly Entry[]): readonly Trouble[] {
  const notes = new Set([...text.matchAll(/^\s*"?\(?(\d{1,2})\)\s+\p{L}/gmu)].map(([, number]) => number))
  return entries.flatMap(({ value }) => {
    const number = /^\D+[([](\d{1,2})[)\]]$/.exec(value.text.trim())?.[1]
    if (number === undefined || !notes.has(number)) return []
    const message = 'Write the limit as <number, or leave the number of the note out.'
    return [
      troubleAt(value, `${quoted(value.text)}, with a limit or a note in its bracket`, 'a limit that is sure', message),
    ]
  })
}

function marksIn(content: string, line: number): readonly Mark[] {
  const whole = content.replaceAll('\r', '')
  const starred = STARRED.exec(whole)
  return [...whole.matchAll(EXPLAINED), ...(starred === null ? [] : [starred])].flatMap(([, mark, says]) => {
    const doubt = DOUBT.exec(says!)
    return doubt === null || SMALL.test(says!) || UNCERTAINTY.test(says!) || DENIED.test(says!.slice(0, doubt.index))
      ? []
      : [{ mark: mark!, says: says!.trim(), line }]
  })
}

/** Where the mark stands as a cell of its own, or behind a figure; undefined where it does not. */
function placeOf(mark: string, content: string): number | undefined {
  const plain = mark.replaceAll(/[*()]/g, String.raw`\$&`)
  const cell = new RegExp(String.raw`(?<=[,;\t|"]\s*|\s{2,})${plain}(?=\s*(?:$|[\r,;\t|"]|\s{2,}))`, 'u')
  const behind = new RegExp(String.raw`(?<=\d\s?)${plain}(?=\s*(?:$|[\r,;\t|"]|\s{2,}))`, 'u')
  const match = cell.exec(content) ?? behind.exec(content)
  return match === null ? undefined : match.index + 1
}
