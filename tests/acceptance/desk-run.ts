// The desk’s commands in this process: what they print, and how they end.

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { vi } from 'vitest'
import { type RecipeOptions, recipe } from '../../src/cli/recipe.ts'
import { type WaterOptions, water } from '../../src/cli/water.ts'

export interface DeskFolder {
  file(name: string, text: string): string
  remove(): void
}

/** A folder of its own for the files of a test. */
export function deskFolder(): DeskFolder {
  const path = mkdtempSync(join(tmpdir(), 'tarnward-desk-'))
  return {
    file(name, text) {
      writeFileSync(join(path, name), text)
      return join(path, name)
    },
    remove: () => rmSync(path, { recursive: true }),
  }
}

export async function printed(run: () => Promise<void>): Promise<string> {
  const lines: string[] = []
  const write = vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    lines.push(String(text))
    return true
  })
  try {
    await run()
  } finally {
    write.mockRestore()
  }
  return lines.join('')
}

const RECIPE = {
  ...{ crop: 'butterhead-lettuce', stage: 'full', water: 'reverse-osmosis', volume: '220L', shelf: 'all' },
  ...{ ammonium: '15', unit: 'g/L', elementUnit: 'mg/L' },
}

/** `tarnward recipe` with the defaults of the command line. */
export function runRecipe(options: Partial<RecipeOptions> = {}): Promise<string> {
  return printed(() => recipe({ ...RECIPE, ...options } as RecipeOptions))
}

/** `tarnward water` with the defaults of the command line. */
export function runWater(from: string, options: Partial<WaterOptions> = {}): Promise<string> {
  return printed(() => water(from, { crop: 'butterhead-lettuce', ...options }))
}

/** Lines that would run over the edge of a terminal of 80 columns. */
export function tooWide(text: string): string[] {
  return text.split('\n').filter((line) => [...line].length > 80)
}

/** A hard well of our own invention. */
export const WELL = `Sample;lower field well

Parameter;Result;Unit
pH;7,6;
EC;0,53;mS/cm
Alkalinity as CaCO3;208;mg/L
Nitrate-N;2,1;mg/L
Calcium;82;mg/L
Magnesium;9;mg/L
Potassium;2;mg/L
Sodium;14;mg/L
Chloride;22;mg/L
Sulfur;11;mg/L
Boron;0,03;mg/L
Iron;0,4;mg/L
`
