/** Names of commands: a node obeys each once, and remembers them longer than a ledger may last. */

/** What a controller’s name ends with where its ledger has a mark of its own. */
export const LEDGER_MARK = /-([0-9a-f]{6})$/

/**
 * The mark of the ledger, the term and a count that never falls: two ledgers that keep one site never mean two doses by one
 * name, or a node would answer the second with what became of the first.
 */
export function commandIdOf(controller: string | null, term: number | null, count: number): string {
  const mark = LEDGER_MARK.exec(controller ?? '')?.[1]
  return `${mark === undefined ? '' : `${mark}-`}${term ?? 0}-${count}`
}
