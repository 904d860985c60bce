import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../src/chemistry/element.ts'
import { startTarnward, tarnward } from '../support/acceptance/tarnward.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'

/** Close to what the bench of the demo holds, and potassium clearly lower than the daemon believes. */
const REPORT = `Parameter;Result;Unit
pH;5,9;
Nitrate-N;140;mg/L
Ammonium-N;<0,2;mg/L
Phosphorus;38,5;mg/L
Potassium;181;mg/L
Calcium;131;mg/L
Magnesium;34;mg/L
Sulfur;47;mg/L
Sodium;15;mg/L
Chloride;23;mg/L
Iron;1,9;mg/L
Manganese;0,47;mg/L
Zinc;0,24;mg/L
Boron;0,29;mg/L
Copper;0,06;mg/L
Molybdenum;0,04;mg/L
`

interface Shown {
  readonly mode: string
  readonly sentence: string
  readonly readings: readonly { readonly quantity: string; readonly value?: number }[]
  readonly estimate: {
    readonly elements: Readonly<Record<string, { readonly mgPerL: number; readonly sdMgPerL: number }>>
  }
}

describe('tarnward run --demo', () => {
  it('can be followed from readings to settled shots, and a laboratory report says from what to what it moved each element', async () => {
    const demo = await startTarnward('run', '--demo', '--days', '2', '--scale', '120', '--for', '25s', '--port', '0')
    const pageLine = await demo.line(/the page is at http/, 40_000)
    const url = /http:\/\/[\d.]+:\d+/.exec(pageLine)![0]
    expect(demo.text()).toMatch(
      /day 1: pH [\d.]+, EC [\d.]+ mS\/cm; believed and \(true\) mg\/L: NO3-N \d+±\d+ \(\d+\)/,
    )

    await demo.line(/Read EC [\d.]+ mS\/cm, pH [\d.]+, level \d+ L, water [\d.]+ °C; believed, mg\/L: NO3-N \d+±\d+/)
    const planned = await demo.line(/event=planned/)
    expect(planned).toMatch(/[\d.]+ mL of [a-z]+: \S+/)
    await demo.line(/[\d.]+ mL of [a-z]+ permitted, command [0-9a-f]{6}-2-\d+/)
    await demo.line(/command [0-9a-f]{6}-2-\d+ done: [\d.]+ mL delivered/)

    const look = async () => {
      const { stdout, stderr } = await tarnward('status', '--json', '--url', url)
      expect(stderr).toBe('')
      return JSON.parse(stdout) as Shown
    }
    const before = await look()
    expect(before).toMatchObject({ mode: 'automatic', sentence: expect.stringMatching(/band/) })
    expect(before.readings.map(({ quantity }) => quantity)).toEqual(['conductivity', 'ph', 'level', 'temperature'])

    const file = join(scratchFolder(), 'laboratory-2026-03-03.csv')
    writeFileSync(file, REPORT)
    const added = await tarnward('lab', 'add', file, '--sampled-at', '2026-03-03T08:30:00Z', '--url', url)
    expect(added).toMatchObject({
      code: 0,
      stdout: expect.stringMatching(/^Taken as [0-9a-f]+: read in mg\/L: NO3-N 140/),
    })
    const moved = await demo.line(/moved the estimate, mg\/L/)
    for (const element of ELEMENTS) expect(moved).toMatch(new RegExp(` ${element} [\\d.]+±[\\d.]+ → [\\d.]+±[\\d.]+`))
    const after = await look()
    const potassium = [before, after].map(({ estimate }) => estimate.elements['K']!)
    expect(potassium[1]!.mgPerL).toBeLessThan(potassium[0]!.mgPerL - 10)
    expect(potassium[1]!.sdMgPerL).toBeLessThan(potassium[0]!.sdMgPerL)

    const { code, stdout } = await tarnward('status', '--url', url)
    expect(code).toBe(0)
    expect(stdout).toMatch(
      /^quarry-lane, 2026-03-04 \d\d:\d\d UTC, mode automatic\n.+\.\nEC [\d.]+ mS\/cm · pH [\d.]+ · level \d+ L · water [\d.]+ °C\n/,
    )
    expect(stdout).toMatch(/^K +\d+ ± \d+ mg\/L {3}band 150 to 250, aim 200$/m)

    expect(await demo.ended).toBe(0)
    expect(demo.text()).toMatch(/day 2(\.\d)?: pH/)
    expect(demo.text()).toMatch(/Shots since the page opened: pump-\d done \d+ × \([\d.]+ mL in all\)/)
  })

  it.each([
    ['--for', '5x', '--for: found "5x"; a time such as 60s, 5m or 2h is needed'],
    ['--days', 'abc', '--days: found "abc"; a whole number from 0 to 60 is needed'],
    ['--seed', '1.5', '--seed: found "1.5"; a whole number from 0 to 2147483648 is needed'],
    ['--port', 'www', '--port: found "www"; a whole number from 0 to 65535 is needed'],
    ['--scale', '100000', '--scale 100000: time 100000 times as fast leaves a lease of 90000 ms only 1 ms'],
  ])('says what is wrong with %s %s before anything is begun', async (option, value, message) => {
    const ended = await tarnward('run', '--demo', option, value)
    expect(ended.code).toBe(64)
    expect(ended.stderr).toContain(message)
    expect(ended.stdout).toBe('')
  })
})
