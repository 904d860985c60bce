/**
 * Answers of a long run, kept as they come, so that a run that was cut off goes on where it was.
 *
 * A line each: the key of the task and what the worker answered, as `v8` writes it (JSON would lose NaN and typed arrays).
 */

import { createHash } from 'node:crypto'
import { appendFileSync, existsSync, readdirSync, readFileSync } from 'node:fs'
import { inspect } from 'node:util'
import { deserialize, serialize } from 'node:v8'

export interface KeptAnswers<Task, Answer> {
  /** @returns what was answered to it before, by this very program; undefined if nothing was */
  of(task: Task): Answer | undefined
  keep(task: Task, answer: Answer): void
}

/**
 * Opens a file of answers, or begins one.
 *
 * @param file where they are kept; undefined keeps nothing
 * @param setup all that an answer depends on beside its task. Lines of another setup, or of another build of the program,
 * are left in the file and never given back.
 */
export function keptAnswers<Task, Answer>(file: string | undefined, setup: unknown): KeptAnswers<Task, Answer> {
  if (file === undefined) return { of: () => undefined, keep: () => {} }
  const under = createHash('sha256').update(program()).update(inText(setup)).digest('hex')
  const keyOf = (task: Task): string => `${under} ${JSON.stringify(task)}`
  const kept = new Map<string, Answer>()
  for (const line of existsSync(file) ? readFileSync(file, 'utf8').split('\n') : []) {
    const [key, written, end] = line.split('\t')
    // A line that a cut left half written has no end.
    if (key !== undefined && written !== undefined && end === END)
      kept.set(key, deserialize(Buffer.from(written, 'base64')) as Answer)
  }
  return {
    of: (task) => kept.get(keyOf(task)),
    keep: (task, answer) => appendFileSync(file, `\n${keyOf(task)}\t${serialize(answer).toString('base64')}\t${END}`),
  }
}

const END = '.'

/** All of a value in words. `serialize` writes one value in several ways, and JSON knows no Map. */
function inText(value: unknown): string {
  return inspect(value, { depth: null, maxArrayLength: null, maxStringLength: null, sorted: true })
}

/** The program that answers: every bundled file beside this one. */
function program(): Buffer {
  const folder = new URL('.', import.meta.url)
  const names = readdirSync(folder).filter((name) => name.endsWith('.js'))
  return Buffer.concat(names.sort().map((name) => readFileSync(new URL(name, folder))))
}
