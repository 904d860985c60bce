/** `tarnward lab add`: a laboratory’s file to the running daemon. */

import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { z } from 'zod'
import { textOfReport } from '../shell/api/schema/report-bytes.ts'
import { CommandFailure } from './command-failure.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

export interface LabAddOptions {
  readonly sampledAt: string
  readonly url: string
  readonly accept?: boolean
  readonly sample?: string
  readonly map?: string
  readonly json?: boolean
}

const SAMPLED_AT = z.iso.datetime({ offset: true })
const HELD = 202
/** A file that is no report at all is wrong in every line; nobody reads them all. */
const ERRORS_SHOWN = 15

/** Sends the file as it is; the daemon reads, judges and answers. A held report ends with a code of its own. */
export async function labAdd(file: string, options: LabAddOptions): Promise<void> {
  const sampledAt = SAMPLED_AT.safeParse(options.sampledAt)
  if (!sampledAt.success) {
    throw new CommandFailure(
      'usage',
      `--sampled-at: found "${options.sampledAt}"; a time with its offset is needed, e.g. 2026-03-16T08:30:00Z`,
    )
  }
  const text = await readText(file)
  const upload = {
    ...{
      fileName: basename(file),
      text,
      sampledAt: sampledAt.data,
      accept: options.accept ?? false,
    },
    ...(options.sample === undefined ? {} : { sample: options.sample }),
    ...(options.map === undefined
      ? {}
      : { mapping: { fileName: basename(options.map), text: await readText(options.map) } }),
  }
  const { status, body } = await askDaemon(options.url, '/api/laboratory', upload)
  if (status === 401 || status === 403 || status === 503) throw refusalOf(status, body)
  if (status >= 400) throw new CommandFailure('data', problemText(body))
  process.stdout.write(options.json ? `${JSON.stringify(body)}\n` : answerText(body))
  if (status === HELD) process.exitCode = 1
}

async function readText(file: string): Promise<string> {
  try {
    const text = textOfReport(await readFile(file))
    if (text.trim() !== '') return text
  } catch (error) {
    throw new CommandFailure(
      'no-input',
      `${file} cannot be read: ${error instanceof Error ? error.message : String(error)}`,
    )
  }
  throw new CommandFailure(
    'data',
    `${file}:1:1  the file is empty; a laboratory report with analytes and values is needed`,
  )
}

interface Answer {
  readonly kind?: string
  readonly id?: string
  readonly text?: string
  readonly why?: readonly string[]
  readonly known?: boolean
}

function answerText(body: unknown): string {
  const { kind, id, text, why, known } = body as Answer
  if (known) return `Known already as ${id}: this very file was taken before, and is not taken again.\n`
  if (kind === 'held')
    return `Held as ${id}, nothing was changed:\n  ${(why ?? []).join('\n  ')}\nCorrect the file, or send it again with --accept.\n`
  return `Taken as ${id}: ${text}\nThe log says from what to what it moved each element.\n`
}

function problemText(body: unknown): string {
  const { detail, errors } = body as { detail?: string; errors?: readonly string[] }
  const told = errors ?? []
  const rest = told.length > ERRORS_SHOWN ? [`… and ${told.length - ERRORS_SHOWN} more; begin with these.`] : []
  return [detail ?? 'The daemon refused the report.', ...told.slice(0, ERRORS_SHOWN), ...rest].join('\n')
}
