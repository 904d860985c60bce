import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../src/chemistry/element.ts'
import type { Configuration } from '../../../src/config/configuration.ts'
import { reservoirSettings } from '../../../src/reservoir/configure-reservoir.ts'
import type { Input } from '../../../src/reservoir/input.ts'
import { type RecordedHour, recordedHours } from '../../../src/reservoir/recorded-hours.ts'
import { HOUR_MS, START_MS } from '../../support/loop/bench.ts'
import { after, coreOf, recordDays } from '../../support/loop/recorded-week.ts'
import { quarryLane } from '../../support/loop/site.ts'

const { K } = ELEMENT_INDEX
const BOTTLE_HOUR = 30
/** Half past the hour. */
const SAMPLED_MS = START_MS + (BOTTLE_HOUR + 0.5) * HOUR_MS

let configuration: Configuration
let recorded: readonly Input[]

beforeAll(async () => {
  configuration = await quarryLane('observe')
  recorded = recordDays(configuration)
})

function hoursWith(...slipped: readonly Input[]): readonly RecordedHour[] {
  const core = coreOf(configuration, after(configuration, recorded, slipped).reservoir)
  const { stretches, filter } = core.history
  const run = recordedHours(reservoirSettings(configuration), core, stretches, filter.atMs)
  for (let next = run.next(); ; next = run.next()) if (next.done) return next.value
}

const potassium = (mgPerL: number): Input => ({
  kind: 'laboratory-result',
  atMs: SAMPLED_MS + 8 * HOUR_MS,
  by: 'laboratory',
  result: { id: 'r1', sampledAtMs: SAMPLED_MS, values: [{ element: 'K', mgPerL }] },
})
const beside = (hours: readonly RecordedHour[], at: number) => hours.map(({ hindsightMmol }) => hindsightMmol[at]!)

describe('what a report shows of the hours before it', () => {
  it('is nothing where none came, and nothing of the hours after the bottle', () => {
    expect(beside(hoursWith(), K).every((mmol) => mmol === 0)).toBe(true)
    const after = beside(hoursWith(potassium(120)), K).slice(BOTTLE_HOUR)
    expect(after.length).toBeGreaterThan(10)
    expect(after.every((mmol) => mmol === 0)).toBe(true)
  })

  it('grows toward the bottle, in the direction in which the report lay', () => {
    for (const [mgPerL, sign] of [
      [120, -1],
      [230, 1],
    ] as const) {
      const before = beside(hoursWith(potassium(mgPerL)), K).slice(0, BOTTLE_HOUR)
      expect(Math.sign(before[0]!)).toBe(sign)
      for (let hour = 1; hour < before.length; hour++)
        expect(sign * before[hour]!).toBeGreaterThanOrEqual(sign * before[hour - 1]!)
    }
  })

  it('comes in the last hour before the bottle to nearly all by which the report moved the belief', () => {
    const hours = hoursWith(potassium(120))
    const moved = hours[BOTTLE_HOUR]!.correctedMmol[K]!
    expect(moved).toBeLessThan(-1)
    const last = hours[BOTTLE_HOUR - 1]!.hindsightMmol[K]!
    expect(last / moved).toBeGreaterThan(0.95)
    expect(last / moved).toBeLessThan(1.1)
  })
})
