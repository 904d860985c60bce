import { beforeAll, describe, expect, it } from 'vitest'
import { loadScenario } from '../../../simulator/load-scenario.ts'
import type { Configuration } from '../../../src/config/configuration.ts'
import { createReservoir } from '../../../src/reservoir/index.ts'
import { type Recording, recordSeason } from '../../support/loop/lockstep.ts'
import { lightSite } from '../../support/loop/site.ts'

let configuration: Configuration
let fortnight: Recording

beforeAll(async () => {
  configuration = await lightSite()
  const scenario = loadScenario(new URL('../../../config/scenarios/light.yaml', import.meta.url).pathname)
  fortnight = recordSeason({ configuration, scenario, days: 14, seed: 3, snapshotDays: [9, 12] })
})

describe('a fortnight of the light site, recorded from the simulated plant', () => {
  it('is one worth replaying: hundreds of shots and a late report', () => {
    expect(fortnight.effects.filter((effects) => effects.includes('"kind":"command"')).length).toBeGreaterThan(300)
    expect(fortnight.inputs.some(({ kind }) => kind === 'laboratory-result')).toBe(true)
  })

  it('gives the same effects byte for byte when its inputs are folded again', () => {
    const reservoir = createReservoir(configuration)
    const differing = fortnight.inputs.findIndex(
      (input, at) => JSON.stringify(reservoir.handle(input)) !== fortnight.effects[at],
    )
    expect(differing).toBe(-1)
    expect(Buffer.compare(reservoir.snapshot(), fortnight.reservoir.snapshot())).toBe(0)
  })

  it('goes on from a snapshot as if it had never stopped', () => {
    for (const [at, bytes] of fortnight.snapshots) {
      const reservoir = createReservoir(configuration, bytes)
      const rest = fortnight.inputs.slice(at)
      const differing = rest.findIndex(
        (input, later) => JSON.stringify(reservoir.handle(input)) !== fortnight.effects[at + later],
      )
      expect(differing).toBe(-1)
      expect(reservoir.estimate()).toEqual(fortnight.reservoir.estimate())
    }
  })

  it('a snapshot of other settings is refused, and says what to do', () => {
    const other = { ...configuration, site: { ...configuration.site, site: 'elsewhere' } }
    expect(() => createReservoir(other, [...fortnight.snapshots.values()][0])).toThrow(
      /another configuration; start without it/,
    )
  })
})
