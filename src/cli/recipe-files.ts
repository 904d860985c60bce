/** The desk’s files: crops and salts, the package’s own unless others are named. */

import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { z } from 'zod'
import { type ConfigurationError, formatConfigurationError } from '../config/configuration-error.ts'
import { checkCrops } from '../config/crops-check.ts'
import { type CropsFile, cropsSchema } from '../config/crops-schema.ts'
import type { Looks } from '../config/look.ts'
import { readFile as readThrough } from '../config/parse-configuration.ts'
import { checkSalts } from '../config/salts-check.ts'
import { type SaltsFile, saltsSchema } from '../config/salts-schema.ts'
import { textOfReport } from '../shell/api/schema/report-bytes.ts'
import { CommandFailure } from './command-failure.ts'
import { PACKAGE_FOLDER } from './package-folder.ts'

export type CropEntry = CropsFile['crops'][string] & { readonly id: string }

/** One crop of the crops file. */
export async function readCrop(id: string, file?: string): Promise<CropEntry> {
  const { crops } = await readChecked(file ?? ownFile('crops.yaml'), cropsSchema, (look) =>
    checkCrops({ crops: look } as Looks),
  )
  const crop = Object.hasOwn(crops, id) ? crops[id] : undefined
  if (crop !== undefined) return { ...crop, id }
  throw new CommandFailure('usage', `--crop: found "${id}"; known are ${Object.keys(crops).join(', ')}`)
}

/** The salts and reagents of a shelf file; `all` for the package’s own. */
export async function readShelf(shelf: string): Promise<SaltsFile> {
  const file = shelf === 'all' ? ownFile('salts.yaml') : shelf
  return readChecked(file, saltsSchema, (look) => checkSalts({ salts: look } as Looks))
}

/** A file of the package’s own configuration folder. */
export function ownFile(name: string): string {
  return fileURLToPath(new URL(`config/${name}`, PACKAGE_FOLDER))
}

/** A file by its path, or one whose text is at hand already. */
export type FileOrText = string | { readonly fileName: string; readonly text: string }

/** Its name as it stands in messages. */
export function fileNameOf(file: FileOrText): string {
  return typeof file === 'string' ? basename(file) : file.fileName
}

/** A laboratory’s report, in whatever encoding it came. */
export async function readReportText(file: FileOrText): Promise<string> {
  return typeof file === 'string' ? textOfReport(await readBytes(file)) : file.text
}

/** A text file, or a failure that says which. */
export async function readText(file: FileOrText): Promise<string> {
  return typeof file === 'string' ? (await readBytes(file)).toString('utf8') : file.text
}

async function readBytes(file: string): Promise<Buffer> {
  try {
    return await readFile(file)
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error)
    throw new CommandFailure('no-input', `${file} cannot be read: ${why}`)
  }
}

/** A YAML file through its schema and its own check; every error at once. */
export async function readChecked<Schema extends z.ZodType>(
  file: string,
  schema: Schema,
  check: (look: Looks[keyof Looks]) => ConfigurationError[] = () => [],
): Promise<z.output<Schema>> {
  const read = await readThrough({ name: file, text: await readText(file) }, schema)
  const view = read.value ?? read.file.data
  const errors = [...read.errors, ...(view === undefined ? [] : check({ file: read.file, view }))]
  if (errors.length === 0) return read.value!
  throw new CommandFailure('data', errors.map(formatConfigurationError).join('\n'))
}
