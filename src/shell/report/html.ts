/** HTML made of text that nobody vouches for: everything is escaped unless it was made here. */

/** Markup made by this file, and so safe to put into more of it. */
export class Markup {
  readonly text: string

  constructor(text: string) {
    this.text = text
  }
}

type Part = string | number | Markup | readonly (string | number | Markup)[]

/** A template whose values are escaped, but for markup and lists of it. */
export function html(fixed: TemplateStringsArray, ...parts: readonly Part[]): Markup {
  return new Markup(fixed.reduce((text, piece, at) => text + (at === 0 ? '' : textOf(parts[at - 1]!)) + piece, ''))
}

function textOf(part: Part): string {
  if (part instanceof Markup) return part.text
  if (typeof part === 'string' || typeof part === 'number') return escaped(String(part))
  return part.map((one) => textOf(one)).join('')
}

const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

function escaped(text: string): string {
  return text.replaceAll(/[&<>"']/g, (character) => ENTITIES[character]!)
}

/** A table with a caption; where it has no rows, a sentence that says so. */
export function table(
  caption: string,
  heads: readonly string[],
  rows: readonly (readonly Part[])[],
  none: string,
): Markup {
  if (rows.length === 0) return html`<p>${none}</p>`
  const head = heads.map((one) => html`<th scope="col">${one}</th>`)
  const body = rows.map(
    ([first, ...rest]) => html`<tr><th scope="row">${first!}</th>${rest.map((cell) => html`<td>${cell}</td>`)}</tr>\n`,
  )
  return html`<div class="wide"><table><caption>${caption}</caption><thead><tr>${head}</tr></thead><tbody>${body}</tbody></table></div>`
}
