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
