import { type ComponentChild, options, type VNode } from 'preact'

const HARD_SPACE = '\u00a0'
/** What follows a figure and means nothing without it. */
const UNIT =
  '(?:[mµu]?[gL]|mg/L|ppm|gal|°[CF]|mL/min|L/min|m?meq|meq/m?L|eq/L|mmol/L|[mdu]S/c?m|%|σ|h|s|min|days?|weeks?|±|times)'
/** A figure and its unit, or a value and its interval, with an ordinary space between them. */
const PARTED = new RegExp(`(\\d) (?=${UNIT}(?![\\p{L}\\d]))`, 'gu')
const BEGINS_WITH_UNIT = new RegExp(`^ (?=${UNIT}(?![\\p{L}\\d]))`, 'u')
const AFTER_SIGN = /± (?=\d)/g

/** The same words with a space that no line ends at between every figure and its unit. */
export function keepTogether(text: string): string {
  return text.replace(PARTED, `$1${HARD_SPACE}`).replace(AFTER_SIGN, `±${HARD_SPACE}`)
}

/** The same for the children of one element, where figure and unit may be two of them. */
export function keepChildrenTogether(children: readonly ComponentChild[]): ComponentChild[] {
  return children.map((child, at) => {
    if (typeof child !== 'string') return child
    const before = children[at - 1]
    const isAfterFigure = (typeof before === 'string' || typeof before === 'number') && /\d$/.test(String(before))
    // `{figure} {unit}` is three children, and the middle one a space
    if (isAfterFigure && child === ' ' && new RegExp(`^${UNIT}$`, 'u').test(String(children[at + 1]))) return HARD_SPACE
    return keepTogether(isAfterFigure ? child.replace(BEGINS_WITH_UNIT, HARD_SPACE) : child)
  })
}

/** From here on whatever is drawn keeps figure and unit on one line, whoever wrote the sentence. */
export function keepFiguresTogether(): void {
  const before = options.vnode
  options.vnode = (vnode: VNode) => {
    const props = vnode.props as { children?: ComponentChild | ComponentChild[] }
    if (typeof vnode.type === 'string') {
      if (typeof props.children === 'string') props.children = keepTogether(props.children)
      else if (Array.isArray(props.children)) props.children = keepChildrenTogether(props.children)
    }
    before?.(vnode)
  }
}
