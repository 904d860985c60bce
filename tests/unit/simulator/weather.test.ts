import { describe, expect, it } from 'vitest'
import { waterPerPlantLPerDay } from '../../../simulator/crop.ts'
import { createWeather } from '../../../simulator/weather.ts'
import { MINUTE_MS, mean, perfect, scenarioOf } from '../../simulation/plant-driver.ts'

const CALM = perfect(scenarioOf('light'))
const START_MS = Date.parse(CALM.startsAt)

/** Every minute of some days. */
function live(scenario: typeof CALM, days: number, seed = 1) {
  const weatherAt = createWeather(scenario, seed, START_MS)
  return Array.from({ length: days * 1440 }, (_, minute) => weatherAt(START_MS + minute * MINUTE_MS))
}
const dark = <T>(day: readonly T[]) => day.filter((_, minute) => minute < 360 || minute >= 1320)

describe('weather', () => {
  it('keeps the day whole: water and growth average to the ordinary day', () => {
    const day = live(CALM, 1)
    expect(mean(day.map(({ water }) => water))).toBeCloseTo(1, 2)
    expect(mean(day.map(({ growth }) => growth))).toBeCloseTo(1, 2)
  })

  it('gives the night a tenth of the water and 37 % of the growth (Le Bot & Kirkby 1992: 35 to 40 % of K and NO3)', () => {
    const day = live(CALM, 1)
    const share = (pick: (weather: (typeof day)[number]) => number) =>
      dark(day.map(pick)).reduce((sum, x) => sum + x, 0) / day.map(pick).reduce((sum, x) => sum + x, 0)
    expect(share(({ water }) => water)).toBeCloseTo(0.1, 2)
    expect(share(({ growth }) => growth)).toBeCloseTo(0.37, 2)
  })

  it('lets days differ by about a fifth in water and a tenth in growth, only partly together', () => {
    const daily = live(scenarioOf('light'), 300)
    const noon = Array.from({ length: 300 }, (_, day) => daily[day * 1440 + 840]!)
    const spread = (values: readonly number[]) => Math.sqrt(mean(values.map((x) => (x / mean(values) - 1) ** 2)))
    const water = noon.map((weather) => weather.water)
    const growth = noon.map((weather) => weather.growth)
    expect(spread(water)).toBeGreaterThan(0.12)
    expect(spread(water)).toBeLessThan(0.25)
    expect(spread(growth)).toBeGreaterThan(0.07)
    expect(spread(growth)).toBeLessThan(0.14)
    const together = mean(noon.map((_, at) => (water[at]! / mean(water) - 1) * (growth[at]! / mean(growth) - 1)))
    expect(together / (spread(water) * spread(growth))).toBeLessThan(0.6)
  })

  it('keeps carbon dioxide of the air between 10^-3.4 and 10^-3.2 atm', () => {
    const logs = live(scenarioOf('light'), 30).map(({ logPco2 }) => logPco2)
    expect(Math.min(...logs)).toBeGreaterThanOrEqual(-3.4)
    expect(Math.max(...logs)).toBeLessThanOrEqual(-3.2)
    expect(new Set(logs).size).toBeGreaterThan(50)
  })

  it('lets a lettuce drink 20 mL when young and 250 mL when full grown, some 5 L in 35 days', () => {
    // 3 to 6 L per head (Kratky, Univ. Hawaii).
    const crop = CALM.crops[0]!
    expect(waterPerPlantLPerDay(crop, 0)).toBeCloseTo(0.02, 1)
    expect(waterPerPlantLPerDay(crop, 35)).toBeCloseTo(0.25, 1)
    const head = Array.from({ length: 35 }, (_, age) => waterPerPlantLPerDay(crop, age)).reduce((sum, x) => sum + x, 0)
    expect(head).toBeGreaterThan(3)
    expect(head).toBeLessThan(6)
  })
})
