/** Long lists of words as a person edits them: separated by commas, over as many lines as it takes. */

/** The words of a list. */
export function wordsOf(list: string): readonly string[] {
  return list.split(',').map((word) => word.trim())
}
