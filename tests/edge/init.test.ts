import { execFile } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { promisify } from 'node:util'
import { spawn } from '@lydell/node-pty'
import { describe, expect, it } from 'vitest'
import { readConfiguration } from '../../src/cli/read-configuration.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'

const MAIN = fileURLToPath(new URL('../../src/main.ts', import.meta.url))
const run = promisify(execFile)

const ANSWERS = {
  ...{ name: 'north-sill', zone: 'Europe/Lisbon', volume: '300 L', circulation: '10', level: 'yes', flow: 'yes' },
  meter: 'no, the float valve hangs on a hose',
  stock: [
    'calcium, calcium, calcium nitrate tetrahydrate 100',
    'phosphate, phosphate-sulfate, monopotassium phosphate 22 + magnesium sulfate heptahydrate 12',
    'nitrate, neutral, potassium nitrate 120 + iron DTPA 11 % 2.2',
  ],
  ...{ acid: 'nitric acid 1', plants: '80', transplanted: '2026-03-02', water: 'median-greenhouse-well' },
}

/** The command with a file of answers, beside other words. */
async function init(folder: string, answers: object, ...words: string[]) {
  const file = join(scratchFolder(), 'answers.json')
  writeFileSync(file, JSON.stringify(answers))
  const told = ['--import', 'tsx', MAIN, 'init', '--out', folder, '--answers', file, ...words]
  return run(process.execPath, told).then(
    ({ stdout }) => ({ code: 0, text: stdout }),
    ({ code, stderr }: { code: number; stderr: string }) => ({ code, text: stderr }),
  )
}

describe('tarnward init', () => {
  it.each([40, 300, 5000])(
    'writes a site of %d L that would run, watching only, with limits small against it',
    async (volume) => {
      const folder = join(scratchFolder(), 'site')
      const { code, text } = await init(folder, { ...ANSWERS, volume, circulation: volume / 20 })
      expect({ code, text }).toMatchObject({ code: 0, text: expect.stringContaining('The mode is observe') })
      const { site, limits } = await readConfiguration(join(folder, 'site.yaml'))
      expect(limits.mode).toBe('observe')
      expect(site.notFitted).toEqual([{ role: 'top-up', reason: 'the float valve hangs on a hose' }])
      // 120 g/L of potassium nitrate is 46.4 mg/mL of potassium: a shot in the least water is 2 % of the aim of 200 mg/L
      const potassiumMgPerL = (limits.stocks['nitrate']!.shotMaxMl * 46.4) / site.reservoir.volumeMinL
      expect(potassiumMgPerL).toBeGreaterThan(2)
      expect(potassiumMgPerL).toBeLessThanOrEqual(4.1)
      const { acid } = limits
      expect(
        (limits.stocks['acid']!.shotMaxMl * acid!.strengthMeqPerMl) / site.reservoir.volumeMinL,
      ).toBeLessThanOrEqual(0.02)
    },
  )

  it('writes over nothing, and nothing at all where an answer is wrong', async () => {
    const folder = scratchFolder()
    expect(await init(folder, { ...ANSWERS, acid: 'nitric acid 14' })).toMatchObject({
      code: 64,
      text: expect.stringContaining('0.05 to 2 eq/L'),
    })
    expect(await init(folder, { ...ANSWERS, crop: 'moss' })).toMatchObject({
      code: 64,
      text: expect.stringContaining('butterhead-lettuce'),
    })
    const { plants: _none, ...missing } = ANSWERS
    expect(await init(folder, missing)).toMatchObject({
      code: 64,
      text: expect.stringContaining('--plants is missing'),
    })
    writeFileSync(join(folder, 'limits.yaml'), 'mine')
    expect(await init(folder, ANSWERS)).toMatchObject({ code: 64, text: expect.stringContaining('is left alone') })
    expect(readFileSync(join(folder, 'limits.yaml'), 'utf8')).toBe('mine')
  })

  it('asks at a terminal, asks again what it cannot read, and takes the usual answer for none', async () => {
    const folder = join(scratchFolder(), 'site')
    const terminal = spawn(process.execPath, ['--import', 'tsx', MAIN, 'init', '--out', folder], {
      cols: 160,
      rows: 40,
    })
    let text = ''
    terminal.onData((chunk) => {
      text += chunk
    })
    const ended = new Promise<number>((done) => terminal.onExit(({ exitCode }) => done(exitCode)))
    const { name, zone, volume, circulation, level, meter, flow, stock, acid, plants, water } = ANSWERS
    const typed: readonly (readonly [string, string])[] = [
      ['Name of the site', 'North Sill!'],
      ['allowed: lower-case letters', ''],
      ['Name of the site', name],
      ['Time zone', zone],
      ['Water in the reservoir', volume],
      ['Circulation', circulation],
      ['level probe', level],
      ['metered', meter],
      ['flow probe', flow],
      ...stock.map((one) => ['A stock', one] as const),
      ['A stock', ''],
      ['bottle', ''],
      ['Acid', acid],
      ['Crop', ''],
      ['Plants', plants],
      ['came into the channels', ''],
      ['Source water', water],
    ]
    for (const [words, answer] of typed) {
      const sinceMs = Date.now()
      while (!text.includes(words) && Date.now() - sinceMs < 20_000) await new Promise((done) => setTimeout(done, 20))
      expect(text).toContain(words)
      text = text.slice(text.indexOf(words) + words.length)
      if (words.startsWith('allowed')) continue
      // the whole question is there before anybody types
      while (!text.includes(': ')) await new Promise((done) => setTimeout(done, 20))
      terminal.write(`${answer}\r`)
    }
    expect(await ended).toBe(0)
    const { site } = await readConfiguration(join(folder, 'site.yaml'))
    expect(site).toMatchObject({ site: name, zone, cohorts: [{ crop: 'butterhead-lettuce', plants: 80 }] })
    expect(site.stocks.map(({ id }) => id)).toEqual(['calcium', 'phosphate', 'nitrate', 'acid'])
  })
})
