import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach } from 'vitest'
import type { LedgerEntry } from '../../../src/ledger/port.ts'

const folders: string[] = []
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true })
})

/** A folder of its own for one test, gone after it. */
export function scratchFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'tarnward-'))
  folders.push(folder)
  return folder
}

/** An entry about a dose, told apart by its number. */
export function doseEntry(number: number, padding = ''): LedgerEntry {
  return {
    kind: 'judged',
    atMs: 1_770_000_000_000 + number,
    json: JSON.stringify({ commandId: `shot-${number}`, padding }),
  }
}
