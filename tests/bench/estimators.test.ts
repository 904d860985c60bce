import { beforeAll, describe, expect, it } from 'vitest'
import type { Scenario } from '../../simulator/scenario.ts'
import { loadPlant } from '../../src/cli/load-plant.ts'
import { NOISE } from '../../src/core/estimate/noise.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import type { ReservoirSettings } from '../../src/reservoir/state.ts'
import { runTrial } from '../../src/trial/run-trial.ts'
import type { Tally } from '../../src/trial/tally.ts'
import { estimateScore, lastDayBeforeReport } from './estimate-score.ts'
import { type EstimatorName, type Trajectory, tallyOf } from './estimators.ts'
import { withIdealNoise } from './ideal-estimator.ts'

let settings: ReservoirSettings
let plant: Scenario
let lived: Tally
let trajectory: Trajectory
const tally = (name: EstimatorName): Tally => tallyOf(name, settings, plant, trajectory)

/** A day and a half with three reports, each two hours late. */
beforeAll(async () => {
  const { configuration, scenario } = await loadPlant('config/scenarios/quarry-lane.yaml')
  plant = { ...scenario, laboratory: { firstDay: 0.06, everyDays: 0.4, lateDays: 0.08 } }
  settings = reservoirSettings(configuration)
  const records: Trajectory['records'][number][] = []
  const hours: Trajectory['hours'][number][] = []
  const trial = runTrial(
    {
      ...{ configuration, scenario: plant, controller: 'tarnward', days: 1.5, seed: 2001 },
      keep: (record) => records.push(record),
      onHour: (hour) => hours.push({ ...hour, recordCount: records.length }),
    },
    () => 0,
  )
  lived = trial.tally
  trajectory = { records, hours }
}, 120_000)

describe('an estimator over the records of a run', () => {
  it('that is told everything says to the bit what the daemon said hour by hour', () => {
    expect(lived.hours).toBeGreaterThan(30)
    expect(tally('full')).toEqual(lived)
  })

  it('that is told less says something else', () => {
    for (const name of ['everySecondReport', 'conductivityPhTemperature', 'massBalance', 'ideal'] as const)
      expect(tally(name).squaresMeq, name).not.toEqual(lived.squaresMeq)
  })

  it('leaves the filter’s constants as they were, also where the work throws', () => {
    const kept = { ...NOISE }
    tally('ideal')
    expect(NOISE).toEqual(kept)
    const broken = (): never => {
      expect(NOISE).not.toEqual(kept)
      throw new Error('in mid-work')
    }
    expect(() => withIdealNoise(plant, broken)).toThrow('in mid-work')
    expect(NOISE).toEqual(kept)
  })
})

describe('a report held', () => {
  it('is the newest report, whatever the water did since', () => {
    const held = tally('laboratoryHeld')
    const scaled = tally('laboratoryScaled')
    expect(held.squaresMeq).toHaveLength(lived.hours)
    expect(scaled.squaresMeq).not.toEqual(held.squaresMeq)
  })
})

describe('the score of an estimate', () => {
  const tallyWith = (errors: readonly number[], halfWidth: number, cycles: readonly number[]): Tally => {
    const element = () => ({
      ...{ errors: [...errors], halfWidths: errors.map(() => halfWidth) },
      ...{ covered: 0, inBand: 0, hours: errors.length, deepest: 0 },
    })
    return {
      elements: { N: element(), P: element(), K: element(), Ca: element(), Mg: element(), S: element() },
      ...{ squaresMeq: errors.map((error) => error * error), cycles: [...cycles], allInBand: 0, hours: errors.length },
    }
  }

  it('counts each cycle of each seed once, however long it was', () => {
    // Three hours all covered, one hour not: three quarters of the hours, half of the cycles.
    const { coverage90 } = estimateScore([tallyWith([0.1, 0.1, 0.1, 0.3], 0.2, [1, 1, 1, 2])])
    expect(coverage90.K).toBe(0.5)
    expect(coverage90.overall).toBe(0.5)
  })

  it('looks at the last day before each report but the first', () => {
    const errors = [...Array<number>(30).fill(0.5), ...Array<number>(24).fill(0.1), 0.9]
    const cycles = [...Array<number>(54).fill(1), 2]
    expect(lastDayBeforeReport([tallyWith(errors, 1, cycles)])).toMatchObject({ worstMedian: expect.closeTo(0.1, 12) })
  })
})
