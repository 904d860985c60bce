import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { loadScenario } from '../../simulator/load-scenario.ts'
import { loadConfiguration } from '../../src/config/load-configuration.ts'
import { scoreOf } from '../../src/trial/tally.ts'
import { consistencyOf } from '../support/consistency/consistency.ts'
import { judgeFilter } from '../support/consistency/judge-filter.ts'
import { type LivedSeason, liveSeason } from '../support/consistency/lived-season.ts'

const FOLDER = new URL('../fixtures/sites/herb-loft', import.meta.url).pathname
const DAYS = 14

let season: LivedSeason
beforeAll(async () => {
  const read = await loadConfiguration(join(FOLDER, 'site.yaml'))
  if (!read.ok) throw new Error(JSON.stringify(read.errors))
  season = liveSeason(read.configuration, loadScenario(join(FOLDER, 'scenario.yaml')), { days: DAYS, seed: 2001 })
}, 240_000)

describe('two weeks on an invented site whose crops are not quite what the crops file says', () => {
  it('surprise EC about as much as the filter expects to be surprised, and the laboratory not much more', () => {
    const { nis } = consistencyOf(season)
    expect(nis.conductivity).toBeGreaterThan(0.5)
    expect(nis.conductivity).toBeLessThan(1.5)
    expect(nis.laboratory).toBeLessThan(3)
  })

  it('surprise level and pH less, since their noise stands for errors that stay the same for days', () => {
    const { nis } = consistencyOf(season)
    expect(nis.level).toBeLessThan(1)
    expect(nis.ph).toBeLessThan(1)
  })

  it('leave the six macronutrients no further from the truth than the estimate says', () => {
    expect(consistencyOf(season).nees).toBeLessThan(2)
    const { overall } = scoreOf(judgeFilter(season))
    expect(overall.coverage90).toBeGreaterThan(0.8)
    expect(overall.halfWidth90).toBeLessThan(0.15)
  })
})
