/** How the desk prints: 80 columns, no colour, nothing beyond ASCII where a column has to line up. */

export const WIDTH = 80

/** Words folded into lines of at most 80 columns, all but the first with `indent` before them. */
export function folded(text: string, first = '', indent = first.replace(/./g, ' ')): string[] {
  const lines: string[] = []
  let line = first
  let isEmpty = true
  for (const word of text.split(/\s+/).filter((one) => one !== '')) {
    const gap = isEmpty ? '' : ' '
    if (!isEmpty && line.length + 1 + word.length > WIDTH) {
      lines.push(line)
      line = indent + word
    } else line += gap + word
    isEmpty = false
  }
  return [...lines, line.trimEnd()]
}

/** A number with three figures and no exponent: 152, 14.2, 0.094. */
export function shown(value: number): string {
  if (Math.abs(value) >= 100) return value.toFixed(0)
  if (value === 0) return '0'
  const digits = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value))))
  return Math.abs(value) < 5e-5 ? '0' : value.toFixed(Math.min(digits, 5))
}

/** The same without zeros that say nothing: 0.25, 2, 130. */
export function compact(value: number): string {
  return String(Number(shown(value)))
}
