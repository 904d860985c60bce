import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import { formatConfigurationError } from '../../../src/config/configuration-error.ts'
import { loadConfiguration } from '../../../src/config/load-configuration.ts'

const config = (file: string) => new URL(`../../../config/${file}`, import.meta.url).pathname
const folder = mkdtempSync(join(tmpdir(), 'tarnward-config-'))
afterAll(() => rmSync(folder, { recursive: true }))

async function complaints(file: string, other?: Parameters<typeof loadConfiguration>[1]): Promise<string[]> {
  const reading = await loadConfiguration(file, other)
  return reading.ok ? [] : reading.errors.map(formatConfigurationError)
}

describe('loading a site', () => {
  test.each(['example', 'light', 'heavy'])('the %s site is without mistakes', async (site) => {
    expect(await complaints(config(`${site}/site.yaml`))).toEqual([])
  })

  test('a site file that is not there', async () => {
    const [complaint, ...others] = await complaints(join(folder, 'nowhere.yaml'))
    expect(others).toEqual([])
    expect(complaint).toContain('nowhere.yaml:1:1  found no readable file at')
  })

  test('a part that is not there is told at the key that names it, and the others are still judged', async () => {
    const site = readFileSync(config('example/site.yaml'), 'utf8')
      .replace('../crops.yaml', 'lost.yaml')
      .replace('../salts.yaml', config('salts.yaml'))
      .replace('limits.yaml', config('example/limits.yaml'))
      .replace('filmL: 12', 'filmL: -1')
    writeFileSync(join(folder, 'site.yaml'), site)
    const found = await complaints(join(folder, 'site.yaml'))
    expect(found).toHaveLength(2)
    expect(found[0]).toMatch(/site\.yaml:5:8 {2}crops: found no readable file at .*lost\.yaml/)
    expect(found[1]).toContain('reservoir.filmL: found -1')
  })

  test('other limits can be tried on the same site', async () => {
    const limits = readFileSync(config('example/limits.yaml'), 'utf8').replace('phFloor: 5.4', 'phFloor: 5.6')
    writeFileSync(join(folder, 'other.yaml'), limits)
    const reading = await loadConfiguration(config('example/site.yaml'), { limits: join(folder, 'other.yaml') })
    expect(reading.ok && reading.configuration.limits.acid?.phFloor).toBe(5.6)
  })

  test('days are local midnights of the site: Lisbon stands at UTC in winter', async () => {
    const reading = await loadConfiguration(config('example/site.yaml'))
    expect(reading.ok && reading.configuration.site.cohorts[0]?.transplantedAtMs).toBe(Date.UTC(2026, 2, 2))
  })
})
