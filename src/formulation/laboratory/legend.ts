/** What a report says of its own abbreviations: ‘n.r. = non rilevato’. */

/** A meaning is taken from the report alone: ‘n.r.’ is ‘not reported’ on one and ‘non rilevato’ on another. */
export type Legend = ReadonlyMap<string, string>

const EXPLANATION = /(?<![\p{L}\d.])((?:\p{L}\.){1,4}|\p{L}{1,4})\s*=\s*(\p{L}[\p{L} ]*)/gu

/** The abbreviations that a text explains, in lower case, with their explanations. One that is explained twice is none. */
export function legendOf(text: string): Legend {
  const legend = new Map<string, string>()
  for (const [, short, meaning] of text.matchAll(EXPLANATION)) {
    const key = short!.toLowerCase()
    legend.set(key, legend.has(key) && legend.get(key) !== meaning!.trim() ? '' : meaning!.trim())
  }
  return legend
}

/** The words for an abbreviation where the report explains it, else the text as it is. */
export function explained(text: string, legend: Legend): string {
  const meaning = legend.get(text.trim().toLowerCase()) ?? ''
  return meaning === '' ? text : meaning
}

const NOTE =
  /\[(\d{1,2})\]\s*:?\s*(?:is |are )?(?:expressed|given|reported|calculated|stated) as ([A-Z][A-Za-z\d-]*)(?![\p{L}\d])/gu

/** The forms that numbered notes tell, by number: ‘[1] expressed as N’. One that is told twice is none. */
export function formNotesOf(text: string): ReadonlyMap<string, string> {
  const notes = new Map<string, string>()
  for (const [, number, form] of text.matchAll(NOTE)) {
    notes.set(number!, notes.has(number!) && notes.get(number!) !== form ? '' : form!)
  }
  return notes
}

/** ‘Nitrate [1]’ with the form that note 1 tells: ‘Nitrate as N’. */
export function withFormNoted(name: string, notes: ReadonlyMap<string, string>): string {
  const [, plain, number] = /^(.*\S)\s*\[(\d{1,2})\]$/.exec(name.trim()) ?? []
  const form = notes.get(number ?? '') ?? ''
  return plain === undefined || form === '' ? name : `${plain} as ${form}`
}
