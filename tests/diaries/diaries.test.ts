import { readFile, writeFile } from 'node:fs/promises'
import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../src/config/configuration.ts'
import { quarryLane } from '../support/loop/site.ts'
import { DAYS } from './days.ts'
import { writeDiary } from './write-diary.ts'

/** `UPDATE_DIARIES=1 npx vitest run tests/diaries` writes them anew; the difference is for a person to read. */
const isUpdate = process.env['UPDATE_DIARIES'] === '1'

let configuration: Configuration

beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

describe('the diary of', () => {
  it.each(DAYS.map((day) => [day.title.toLowerCase(), day] as const))('%s reads as it did', async (_title, day) => {
    const path = new URL(day.file, import.meta.url)
    const written = writeDiary(day.title, day.story, day.live(configuration).log)
    if (isUpdate) await writeFile(path, written)
    expect(written).toBe(await readFile(path, 'utf8'))
  })
})
