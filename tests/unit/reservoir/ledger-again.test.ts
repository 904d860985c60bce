import { beforeAll, describe, expect, it } from 'vitest'
import { loadPlant } from '../../../src/cli/load-plant.ts'
import { reservoirSettings } from '../../../src/reservoir/configure-reservoir.ts'
import { judgeAgain } from '../../../src/reservoir/judge-again.ts'
import type { LedgerRecord } from '../../../src/reservoir/record.ts'
import { reportsAgainst } from '../../../src/reservoir/reports-against.ts'
import type { ReservoirSettings } from '../../../src/reservoir/state.ts'
import { runTrial } from '../../../src/trial/run-trial.ts'

let settings: ReservoirSettings
const records: LedgerRecord[] = []

/** A day and a half of the example’s bench with three reports. */
beforeAll(async () => {
  const { configuration, scenario } = await loadPlant('config/scenarios/quarry-lane.yaml')
  const laboratory = { firstDay: 0.06, everyDays: 0.4, lateDays: 0.08 }
  settings = reservoirSettings(configuration)
  runTrial(
    {
      ...{ configuration, scenario: { ...scenario, laboratory }, controller: 'tarnward', days: 1.5, seed: 2001 },
      keep: (record) => records.push(record),
    },
    () => 0,
  )
}, 120_000)

describe('verdicts judged again from their records', () => {
  it('come out the same by the same limits', () => {
    const again = judgeAgain(settings.limits, records)
    expect(again.length).toBeGreaterThan(20)
    expect(again.filter(({ recorded, now }) => recorded !== now)).toEqual([])
  })

  it('refuse a shot over a smaller cap, with the rows that would not hold', () => {
    const largest = Math.max(...judgeAgain(settings.limits, records).map(({ volumeUl }) => volumeUl))
    const stocks = settings.limits.stocks.map((stock) => ({ ...stock, shotMaxUl: largest - 1 }))
    const refused = judgeAgain({ ...settings.limits, stocks }, records).filter(({ now }) => now === 'refuse')
    expect(refused.length).toBeGreaterThan(0)
    for (const { why, volumeUl } of refused) {
      expect(why).toContain('shot-bounded')
      expect(volumeUl).toBe(largest)
    }
  })

  it('work the sums out anew: what would have been refused leaves room for the next', () => {
    const dayMaxUl = 1.5 * Math.max(...judgeAgain(settings.limits, records).map(({ volumeUl }) => volumeUl))
    const stocks = settings.limits.stocks.map((stock) => ({ ...stock, dayMaxUl: Math.floor(dayMaxUl) }))
    const again = judgeAgain({ ...settings.limits, stocks }, records)
    expect(again.some(({ now, why }) => now === 'refuse' && why.includes('day-bounded'))).toBe(true)
    for (const { stock } of stocks) {
      const given = again.filter((one) => one.stock === stock && one.now === 'permit')
      const firstDay = given.filter(({ atMs }) => atMs < given[0]!.atMs + 86_400_000)
      expect(firstDay.reduce((sum, { volumeUl }) => sum + volumeUl, 0)).toBeLessThanOrEqual(dayMaxUl)
    }
  })
})

describe('reports held against the estimate', () => {
  it('are compared at the bottle with a belief that knew nothing of them', () => {
    const { reports } = reportsAgainst(settings, records)
    expect(reports.length).toBe(records.filter(({ kind }) => kind === 'laboratory').length)
    expect(reports.length).toBeGreaterThan(2)
    for (const { elements } of reports) {
      const potassium = elements.find(({ element }) => element === 'K')!
      expect(potassium.sdMgPerL).toBeGreaterThan(0)
      expect(Math.abs(potassium.sigmas)).toBeLessThan(5)
    }
    // The first bottle met the doubt of the fill alone, the last one less of it.
    const doubt = reports.map(({ elements }) => {
      const { sdMgPerL, estimatedMgPerL } = elements.find(({ element }) => element === 'K')!
      return sdMgPerL / estimatedMgPerL
    })
    expect(doubt.at(-1)).toBeLessThan(doubt[0]!)
  })
})
