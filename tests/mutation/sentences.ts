import { declareValuePlugin, PluginKind } from '@stryker-mutator/api/plugin'

/** Text that the database obeys, not a person. */
const STATEMENT = /^\s*(?:SELECT|INSERT|UPDATE|DELETE|CREATE|BEGIN|WHERE)\b|\w = |\n/

/** What is looked at of a node of the syntax tree; the library leaves its type open. */
interface Node {
  readonly type: string
  readonly value?: unknown
  readonly quasis?: readonly { readonly value: { readonly raw: string } }[]
}

/**
 * Leaves the words of sentences alone: what has a blank between words is read by people and decides nothing, and what
 * is said where is compared by tests/safety/refusals.test.ts. Names and ids have no blanks and are mutated.
 */
export const sentences = declareValuePlugin(PluginKind.Ignore, 'sentences', {
  shouldIgnore(path) {
    const text = textOf((path as unknown as { readonly node: Node }).node)
    return / /.test(text.trim()) && !STATEMENT.test(text) ? 'a sentence for people' : undefined
  },
})

function textOf({ type, value, quasis }: Node): string {
  if (type === 'StringLiteral') return String(value)
  return type === 'TemplateLiteral' ? (quasis ?? []).map((quasi) => quasi.value.raw).join('') : ''
}
