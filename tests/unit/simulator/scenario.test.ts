import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { parse } from 'yaml'
import { loadScenario } from '../../../simulator/load-scenario.ts'
import { alkalinityOf, mgPerLOf } from '../../../simulator/solution.ts'
import { saltMmol, stockMmolPerMl } from '../../../simulator/stock.ts'

const CONFIG = fileURLToPath(new URL('../../../config/', import.meta.url))
const SITES = { light: 'light', heavy: 'heavy', 'quarry-lane': 'example' } as const
const scenarioPath = (name: string) => join(CONFIG, 'scenarios', `${name}.yaml`)

interface SiteFile {
  readonly stocks: { id: string; pump: string; rateMlPerMin: number; kind: string; salts?: { gPerL: number }[] }[]
  readonly probes: { id: string; unit: string }[]
  readonly cohorts: { plants: number }[]
}
const siteOf = (name: keyof typeof SITES) =>
  parse(readFileSync(join(CONFIG, SITES[name], 'site.yaml'), 'utf8')) as SiteFile

describe('scenarios', () => {
  it.each(Object.keys(SITES) as (keyof typeof SITES)[])('%s is the plant that its site file describes', (name) => {
    const scenario = loadScenario(scenarioPath(name))
    const site = siteOf(name)
    const node = scenario.nodes[0]!
    expect(node.pumps.map(({ id, rateMlPerMin }) => ({ id, rateMlPerMin }))).toEqual(
      site.stocks.map(({ pump, rateMlPerMin }) => ({ id: pump, rateMlPerMin })),
    )
    expect(node.probes.map(({ id, unit }) => ({ id, unit }))).toEqual(site.probes.map(({ id, unit }) => ({ id, unit })))
    expect(scenario.cohorts.map(({ plants }) => plants)).toEqual(site.cohorts.map(({ plants }) => plants))
  })

  it('fills the acid bottle with nitric acid of one equivalent a litre', () => {
    const scenario = loadScenario(scenarioPath('light'))
    const acid = siteOf('light').stocks.find(({ kind }) => kind === 'acid')!
    const stock = scenario.nodes[0]!.pumps.find(({ id }) => id === acid.pump)!.stock
    expect(alkalinityOf(stockMmolPerMl(stock))).toBeCloseTo(-1, 3)
    expect(mgPerLOf(stockMmolPerMl(stock))['NO3-N']).toBeCloseTo(14.007, 2)
  })

  it('makes no charge in a bottle of salts, iron chelate by its label included', () => {
    for (const name of Object.keys(SITES)) {
      for (const { stock } of loadScenario(scenarioPath(name)).nodes[0]!.pumps) {
        const mmolPerMl = stockMmolPerMl(stock)
        if (stock.salts.some(({ formula }) => formula === 'HNO3')) continue
        expect(Math.abs(alkalinityOf(mmolPerMl))).toBeLessThan(1e-9)
      }
    }
  })

  it('knows what a salt brings: calcium nitrate tetrahydrate is 11.86 % N, 16.97 % Ca', () => {
    // Pure analysis from IUPAC weights.
    const mg = mgPerLOf(saltMmol('Ca(NO3)2.4H2O', 1))
    expect(mg['NO3-N'] / 10).toBeCloseTo(11.86, 2)
    expect(mg.Ca / 10).toBeCloseTo(16.97, 2)
  })

  it('refuses an unknown key, a wrong value and a cohort without a crop, each with its place', () => {
    const folder = mkdtempSync(join(tmpdir(), 'scenario-'))
    const light = parse(readFileSync(scenarioPath('light'), 'utf8')) as { crops: object[] }
    const broken = {
      ...light,
      site: join(CONFIG, 'light', 'site.yaml'),
      reservoir: { volumeL: -3 },
      colour: 'green',
    }
    const path = join(folder, 'broken.yaml')
    writeFileSync(path, JSON.stringify(broken))
    expect(() => loadScenario(path)).toThrow(/broken\.yaml is not a scenario/)
    expect(() => loadScenario(path)).toThrow(/reservoir\.volumeL/)
    expect(() => loadScenario(path)).toThrow(/colour/)
    writeFileSync(
      path,
      JSON.stringify({
        ...broken,
        reservoir: {},
        colour: undefined,
        crops: [{ ...light.crops[0], id: 'kale' }],
      }),
    )
    expect(() => loadScenario(path)).toThrow(/cohorts lettuce-1: no crop 'butterhead-lettuce'/)
  })
})
