import { describe, expect, test } from 'vitest'
import { phFromAlkalinity } from '../../../src/chemistry/acidity.ts'
import { alkalinityMeqPerL } from '../../../src/chemistry/alkalinity.ts'
import { OPEN_AIR } from '../../../src/chemistry/carbon.ts'
import { ELEMENT_INDEX, type ElementName } from '../../../src/chemistry/element.ts'
import type { Configuration } from '../../../src/config/configuration.ts'
import { loadConfiguration } from '../../../src/config/load-configuration.ts'
import { parseConfiguration } from '../../../src/config/parse-configuration.ts'
import { waterPerPlantLPerDay } from '../../../src/core/estimate/demand.ts'
import { coreSettings, safetyLimits } from '../../../src/reservoir/configure.ts'
import { isComplete } from '../../../src/safety/limits.ts'
import { type Change, changedTexts } from './example-texts.ts'

async function example(...changes: Change[]): Promise<Configuration> {
  const reading = await parseConfiguration(changedTexts(...changes))
  if (!reading.ok) throw new Error(JSON.stringify(reading.errors))
  return reading.configuration
}

async function stored(site: 'light' | 'heavy'): Promise<Configuration> {
  const reading = await loadConfiguration(new URL(`../../../config/${site}/site.yaml`, import.meta.url).pathname)
  if (!reading.ok) throw new Error(JSON.stringify(reading.errors))
  return reading.configuration
}

const at = (vector: Float64Array, name: ElementName) => vector[ELEMENT_INDEX[name]]!

describe('settings of the core', () => {
  test('the source has the alkalinity that its report states', async () => {
    const { source } = coreSettings(await example())
    // 208 mg/L CaCO3 over 50.04 mg per meq
    expect(alkalinityMeqPerL(source.mmolPerL, source.untrackedMeqPerL)).toBeCloseTo(208 / 50.0435, 4)
  })

  test('the first fill stands at its stated pH in open air', async () => {
    const { firstFill } = coreSettings(await example())
    const alkalinity = alkalinityMeqPerL(firstFill.mmolPerL, firstFill.untrackedMeqPerL)
    expect(phFromAlkalinity(firstFill.mmolPerL, alkalinity, OPEN_AIR)).toBeCloseTo(5.9, 6)
    const unstated = coreSettings(await example({ in: 'site', replace: '  ph: 5.9\n', by: '' }))
    expect(unstated.firstFill.untrackedMeqPerL).toBe(0)
  })

  test('a stock brings what its salts hold', async () => {
    const { stocks } = coreSettings(await example())
    const nitrate = stocks.find(({ id }) => id === 'nitrate')!
    // potassium nitrate 120 g/L of 101.10 g/mol
    expect(at(nitrate.mmolPerMl, 'K')).toBeCloseTo(0.12 / 0.1011, 3)
    expect(at(nitrate.mmolPerMl, 'NO3-N')).toBe(at(nitrate.mmolPerMl, 'K'))
    expect(nitrate.alkalinityMeqPerMl).toBeCloseTo(0, 12)
    expect(nitrate.rateUlPerS).toBe(500)
  })

  test('nitric acid of 1 eq/L brings 1 mmol of nitrate and takes 1 meq of alkalinity a millilitre', async () => {
    const acid = coreSettings(await example()).stocks.find(({ kind }) => kind === 'acid')!
    expect(at(acid.mmolPerMl, 'NO3-N')).toBeCloseTo(1, 12)
    expect(acid.alkalinityMeqPerMl).toBeCloseTo(-1, 12)
  })

  test('sulfuric acid of 1 eq/L brings half a mmol of sulfur', async () => {
    const acid = coreSettings(await example({ in: 'site', replace: 'nitric acid', by: 'sulfuric acid' })).stocks.at(-1)!
    expect(at(acid.mmolPerMl, 'S')).toBeCloseTo(0.5, 12)
  })

  test('an iron chelate brings iron and no alkalinity', async () => {
    const calcium = coreSettings(await example()).stocks[0]!
    // 2.2 g/L of 11 % iron, 55.845 g/mol
    expect(at(calcium.mmolPerMl, 'Fe')).toBeCloseTo((0.0022 * 0.11 * 1000) / 55.845, 9)
    expect(calcium.alkalinityMeqPerMl).toBeCloseTo(0, 12)
  })

  test('the planner stays below the conductivity that safety refuses at', async () => {
    const settings = coreSettings(await example())
    expect(settings.planning.conductivityMaxDsPerM).toBeLessThan(2.8)
    const set = await example({ in: 'site', replace: 'marginSds: 1 }', by: 'marginSds: 1, conductivityMaxDsPerM: 2 }' })
    expect(coreSettings(set).planning.conductivityMaxDsPerM).toBe(2)
  })

  test('times of day are minutes, bands are mmol per litre', async () => {
    const { photoperiod, crops } = coreSettings(await example())
    expect([photoperiod.litFromMin, photoperiod.litUntilMin]).toEqual([360, 1320])
    const lettuce = crops.find(({ id }) => id === 'butterhead-lettuce')!
    expect(lettuce.bands[ELEMENT_INDEX.K]!.aim).toBeCloseTo(200 / 39.098, 12)
    expect(lettuce.drivers[ELEMENT_INDEX.Ca]).toBe('water')
    expect(lettuce.drivers[ELEMENT_INDEX.Na]).toBe('concentration')
  })

  test('a flow switch is a switch, and probe noise is in inside units', async () => {
    const settings = coreSettings(
      await example(
        { in: 'site', replace: 'role: flow, unit: L/min', by: "role: flow, unit: '1'" },
        { in: 'site', replace: 'role: level, unit: L }', by: "role: level, unit: '[gal_us]', noiseSd: 0.1 }" },
      ),
    )
    expect(settings.probes.find(({ role }) => role === 'flow')!.quantity).toBe('switch')
    expect(settings.probes.find(({ role }) => role === 'level')!.noiseSd).toBeCloseTo(0.3785411784, 9)
  })
})

describe('limits of safety', () => {
  test('every stock of every stored site has complete limits', async () => {
    for (const configuration of [await example(), await stored('light'), await stored('heavy')]) {
      const limits = safetyLimits(configuration)
      expect(limits.stocks).toHaveLength(configuration.site.stocks.length)
      for (const stock of limits.stocks) expect(isComplete(limits, stock), stock.stock).toBe(true)
    }
  })

  test('volumes are whole microlitres, times whole milliseconds', async () => {
    const limits = safetyLimits(await example({ in: 'limits', replace: 'shotMaxMl: 8,', by: 'shotMaxMl: 2.29,' }))
    const acid = limits.stocks.find(({ stock }) => stock === 'acid')!
    expect(acid.shotMaxUl).toBe(2290)
    expect(acid.acid).toBe(true)
    expect(limits.stocks.filter((stock) => stock.acid)).toHaveLength(1)
    const numbers = limits.stocks.flatMap((stock) => [stock.shotMaxUl, stock.hourMaxUl, stock.dayMaxUl, stock.gapMs])
    expect(numbers.every(Number.isInteger)).toBe(true)
  })

  test('the make-up meter is no condition of a shot, every other probe is', async () => {
    const roles = safetyLimits(await example()).probes.map(({ role }) => role)
    expect(roles).toEqual(['conductivity', 'ph', 'temperature', 'level', 'flow'])
  })

  test('a flow switch counts as flow when it is closed', async () => {
    const limits = safetyLimits(
      await example({ in: 'site', replace: 'role: flow, unit: L/min', by: "role: flow, unit: '1'" }),
    )
    expect(limits.flowMinLPerMin).toBeGreaterThan(0)
    expect(limits.flowMinLPerMin).toBeLessThan(1)
  })
})

describe('the two stored sites', () => {
  test.each([
    ['light', 14],
    ['heavy', 40],
  ] as const)('%s transpires about %d L a day, week after week', async (name, expectedL) => {
    const settings = coreSettings(await stored(name))
    const crop = settings.crops.find(({ id }) => id === 'butterhead-lettuce')!
    const start = Date.UTC(2026, 2, 2)
    const DAY_MS = 86_400_000
    const days = Array.from({ length: 56 }, (_, day) => {
      const now = start + (day + 0.5) * DAY_MS
      const standing = settings.cohorts.filter((one) => one.transplantedAtMs <= now && now < one.harvestedAtMs!)
      return standing.reduce(
        (sum, one) => sum + one.plants * waterPerPlantLPerDay(crop, (now - one.transplantedAtMs) / DAY_MS),
        0,
      )
    })
    const mean = days.reduce((sum, day) => sum + day, 0) / days.length
    expect(mean / expectedL).toBeGreaterThan(0.97)
    expect(mean / expectedL).toBeLessThan(1.03)
    expect(Math.max(...days) / mean).toBeLessThan(1.25)
    expect(Math.min(...days) / mean).toBeGreaterThan(0.75)
  })

  test('the limits of heavy let its crop be fed: 370 mmol of nitrogen a day', async () => {
    const configuration = await stored('heavy')
    const { stocks } = coreSettings(configuration)
    const { stocks: limits } = safetyLimits(configuration)
    const nitrogen = stocks.reduce((sum, stock) => {
      const dayMl = limits.find((limit) => limit.stock === stock.id)!.dayMaxUl / 1000
      return sum + dayMl * at(stock.mmolPerMl, 'NO3-N')
    }, 0)
    expect(nitrogen).toBeGreaterThan(370 * 1.5)
  })
})
