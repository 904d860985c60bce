import { describe, expect, it } from 'vitest'
import { FAULT_KINDS, type Fault, type FaultKind } from '../../simulator/faults.ts'
import { readScenario } from '../../simulator/scenario.ts'
import type { NodeEmission } from '../../simulator/world.ts'
import {
  DAY_MS,
  type Driver,
  drive,
  HOUR_MS,
  MINUTE_MS,
  mean,
  perfect,
  scenarioOf,
  valuesOf,
  withFaults,
} from './plant-driver.ts'

const PLANT = perfect(scenarioOf('heavy'))
/** Begins an hour in. */
const AT = { fromDay: 1 / 24 }

interface Pair {
  readonly well: Driver
  readonly ill: Driver
}

/** The same day twice, without and with the fault; `act` is done to both. */
function pair(fault: Fault, hours: number, act: (driver: Driver) => void = () => {}): Pair {
  const lived = [PLANT, withFaults(PLANT, fault)].map((scenario) => {
    const driver = drive(scenario, 1)
    driver.goTo(driver.world.startMs + HOUR_MS)
    act(driver)
    driver.goTo(driver.world.startMs + hours * HOUR_MS)
    return driver
  })
  return { well: lived[0]!, ill: lived[1]! }
}

const shoot = (pump: string) => (driver: Driver) => driver.shoot(pump, 60_000)
const since = (said: readonly NodeEmission[], atMs: number) => said.filter((emission) => emission.atMs >= atMs)
const afterHours = ({ world, said }: Driver, hours: number) => since(said, world.startMs + hours * HOUR_MS)
const lastOf = (driver: Driver, probe: string) => valuesOf(driver.said, probe).at(-1)!
const heartbeats = (said: readonly NodeEmission[]) =>
  said.flatMap(({ message }) => (message.kind === 'heartbeat' ? [message.message] : []))
const reports = (said: readonly NodeEmission[]) =>
  said.flatMap(({ message }) => (message.kind === 'report' ? [message.message] : []))
const statuses = (said: readonly NodeEmission[]) =>
  said.flatMap(({ message }) => (message.kind === 'status' ? [message.message] : []))
const delivered = ({ world }: Driver, pump: string) => world.truth().pumps[pump]!.deliveredMl

/** What each kind must visibly do. The compiler misses none of them. */
const PROOFS: Record<FaultKind, () => void> = {
  'flow-stop': () => {
    const { well, ill } = pair({ kind: 'flow-stop', ...AT }, 3)
    expect(lastOf(well, 'flow-1')).toBeGreaterThan(9)
    expect(lastOf(ill, 'flow-1')).toBe(0)
    expect(ill.world.truth().tankL).toBeGreaterThan(well.world.truth().tankL + 5)
  },
  'flow-weak': () => {
    const { ill } = pair({ kind: 'flow-weak', ...AT, factor: 0.3 }, 2)
    expect(lastOf(ill, 'flow-1')).toBeCloseTo(3, 0)
  },
  'top-up-stuck-open': () => {
    const { well, ill } = pair({ kind: 'top-up-stuck-open', ...AT }, 2)
    expect(ill.world.truth().topUpL).toBeGreaterThan(well.world.truth().topUpL + 100)
    expect(ill.world.truth().dischargedL).toBeGreaterThan(50)
    expect(lastOf(ill, 'ec-1')).toBeLessThan(lastOf(well, 'ec-1') - 0.2)
  },
  'top-up-stuck-closed': () => {
    const { well, ill } = pair({ kind: 'top-up-stuck-closed', ...AT }, 20)
    expect(ill.world.truth().topUpL).toBe(0)
    expect(lastOf(ill, 'level-1')).toBeLessThan(lastOf(well, 'level-1') - 20)
  },
  leak: () => {
    const { ill } = pair({ kind: 'leak', ...AT, litresPerHour: 5, hours: 4 }, 8)
    expect(ill.world.truth().dischargedL).toBeCloseTo(20, 3)
    expect(ill.world.truth().topUpL).toBeGreaterThan(15)
  },
  'heat-wave': () => {
    const { well, ill } = pair({ kind: 'heat-wave', ...AT, waterFactor: 2, warmerC: 6 }, 24)
    expect(ill.world.truth().transpiredL / well.world.truth().transpiredL).toBeGreaterThan(1.8)
    expect(lastOf(ill, 'temperature-1') - lastOf(well, 'temperature-1')).toBeCloseTo(6, 0)
  },
  'source-change': () => {
    const { well, ill } = pair({ kind: 'source-change', ...AT, factor: 3 }, 24)
    expect(ill.world.truth().mgPerL.Ca).toBeGreaterThan(well.world.truth().mgPerL.Ca + 10)
  },
  'slow-mixing': () => {
    const { well, ill } = pair({ kind: 'slow-mixing', ...AT, factor: 6 }, 1.35, shoot('pump-3'))
    expect(ill.world.truth().tankMgPerL.K).toBeLessThan(well.world.truth().tankMgPerL.K - 2)
  },
  'pump-weak': () => {
    const { well, ill } = pair({ kind: 'pump-weak', ...AT, pump: 'pump-3', factor: 0.6 }, 2, shoot('pump-3'))
    expect(delivered(ill, 'pump-3') / delivered(well, 'pump-3')).toBeCloseTo(0.6, 6)
    expect(ill.world.truth().pumps['pump-3']!.ranMs).toBe(60_000)
  },
  'pump-jammed': () => {
    const { ill } = pair({ kind: 'pump-jammed', ...AT, pump: 'pump-3' }, 2, shoot('pump-3'))
    expect(reports(ill.said).at(-1)).toMatchObject({ state: 'done', ranMs: 60_000 })
    expect(delivered(ill, 'pump-3')).toBe(0)
  },
  'pump-runs-on': () => {
    const { ill } = pair({ kind: 'pump-runs-on', ...AT, pump: 'pump-3', hours: 0.5 }, 3, shoot('pump-3'))
    expect(reports(ill.said).at(-1)).toMatchObject({ state: 'done', totalRunMs: 60_000 })
    // Thirty minutes at 30 mL/min, though the node believes in one.
    expect(delivered(ill, 'pump-3')).toBeCloseTo(900, 0)
  },
  siphon: () => {
    const { ill } = pair({ kind: 'siphon', ...AT, pump: 'pump-5', mlPerHour: 60, hours: 2 }, 4)
    expect(delivered(ill, 'pump-5')).toBeCloseTo(120, 6)
    expect(ill.world.truth().pumps['pump-5']!.ranMs).toBe(0)
  },
  'stock-strength': () => {
    const { well, ill } = pair({ kind: 'stock-strength', ...AT, pump: 'pump-3', factor: 1.5 }, 2, shoot('pump-3'))
    const brought = ({ world }: Driver) => world.truth().saltG
    expect(brought(ill) / brought(well)).toBeCloseTo(1.5, 6)
  },
  'stock-empty': () => {
    const { ill } = pair({ kind: 'stock-empty', ...AT, pump: 'pump-3' }, 2, shoot('pump-3'))
    expect(reports(ill.said).at(-1)!.state).toBe('done')
    expect(delivered(ill, 'pump-3')).toBe(0)
  },
  'stocks-swapped': () => {
    const { well, ill } = pair({ kind: 'stocks-swapped', ...AT, pump: 'pump-3', with: 'pump-5' }, 2, shoot('pump-5'))
    expect(well.world.truth().alkalinityMeqPerL).toBeLessThan(ill.world.truth().alkalinityMeqPerL - 0.05)
    expect(ill.world.truth().mgPerL.K).toBeGreaterThan(well.world.truth().mgPerL.K + 3)
  },
  'probe-stuck': () => {
    const { well, ill } = pair({ kind: 'probe-stuck', ...AT, probe: 'ph-1' }, 12)
    expect(new Set(valuesOf(afterHours(ill, 1.1), 'ph-1')).size).toBe(1)
    expect(new Set(valuesOf(afterHours(well, 1.1), 'ph-1')).size).toBeGreaterThan(5)
  },
  'probe-drift': () => {
    const { well, ill } = pair({ kind: 'probe-drift', ...AT, probe: 'ph-1', perDay: 0.5 }, 25)
    expect(lastOf(ill, 'ph-1') - lastOf(well, 'ph-1')).toBeCloseTo(0.5, 1)
  },
  'probe-step': () => {
    const { well, ill } = pair({ kind: 'probe-step', ...AT, probe: 'ec-1', by: -0.4 }, 3)
    expect(lastOf(ill, 'ec-1') - lastOf(well, 'ec-1')).toBeCloseTo(-0.4, 2)
  },
  'probe-noisy': () => {
    const { ill } = pair({ kind: 'probe-noisy', ...AT, probe: 'ph-1', sd: 0.4 }, 5)
    const values = valuesOf(afterHours(ill, 1), 'ph-1')
    expect(Math.sqrt(mean(values.map((value) => (value - mean(values)) ** 2)))).toBeGreaterThan(0.3)
  },
  'probe-dry': () => {
    const { ill } = pair({ kind: 'probe-dry', ...AT, probe: 'ec-1' }, 2)
    expect(lastOf(ill, 'ec-1')).toBe(0)
  },
  'probe-silent': () => {
    const { ill } = pair({ kind: 'probe-silent', ...AT, probe: 'ph-1' }, 2)
    expect(valuesOf(afterHours(ill, 1), 'ph-1')).toEqual([])
    expect(valuesOf(afterHours(ill, 1), 'ec-1').length).toBeGreaterThan(50)
  },
  'probe-bad-quality': () => {
    const { ill } = pair({ kind: 'probe-bad-quality', ...AT, probe: 'ph-1' }, 2)
    const last = ill.said.filter(({ message }) => message.kind === 'scan').at(-1)!.message
    expect(last.kind === 'scan' && last.message.readings.find(({ id }) => id === 'ph-1')).toMatchObject({
      quality: 'bad',
    })
  },
  'ph-cable-open': () => {
    const { ill } = pair({ kind: 'ph-cable-open', ...AT, probe: 'ph-1' }, 3)
    expect(valuesOf(afterHours(ill, 1), 'ph-1')[0]).toBeCloseTo(7, 1)
    expect(lastOf(ill, 'ph-1')).toBe(14)
    expect(ill.world.truth().ph).toBeLessThan(7)
  },
  'meter-stopped': () => {
    const { well, ill } = pair({ kind: 'meter-stopped', ...AT, probe: 'meter-1' }, 24)
    expect(lastOf(ill, 'meter-1')).toBeLessThan(3)
    expect(lastOf(well, 'meter-1')).toBeGreaterThan(20)
    expect(ill.world.truth().topUpL).toBeCloseTo(well.world.truth().topUpL, 6)
  },
  'node-reboot': () => {
    const { ill } = pair({ kind: 'node-reboot', fromDay: 1 / 24 + 20 / 86_400, node: 'bench' }, 2, (driver) =>
      driver.shoot('pump-3', 60_000),
    )
    expect(statuses(ill.said).map(({ online }) => online)).toEqual([true, false, true])
    expect(
      heartbeats(ill.said)
        .at(-1)!
        .pumps.find(({ id }) => id === 'pump-3')!.doubtMs,
    ).toBe(60_000)
    expect(ill.world.truth().pumps['pump-3']!.ranMs).toBe(20_000)
  },
  'node-silent': () => {
    const { ill } = pair({ kind: 'node-silent', ...AT, hours: 1, node: 'bench' }, 3, shoot('pump-3'))
    const quiet = ill.said.filter(
      ({ atMs }) => atMs >= ill.world.startMs + HOUR_MS && atMs < ill.world.startMs + 2 * HOUR_MS,
    )
    // Only the broker speaks, with the node's will.
    expect(quiet.map(({ message }) => message.kind)).toEqual(['status'])
    expect(delivered(ill, 'pump-3')).toBe(0)
    expect(statuses(afterHours(ill, 2)).at(0)).toMatchObject({ online: true })
    expect(heartbeats(afterHours(ill, 2)).length).toBeGreaterThan(50)
  },
  'node-disobeys-lease': () => {
    const act = (driver: Driver) => {
      driver.goTo(driver.world.startMs + HOUR_MS + 9.5 * MINUTE_MS)
      driver.letGo()
      driver.goTo(driver.world.startMs + HOUR_MS + 19 * MINUTE_MS)
      driver.shoot('pump-3', 180_000)
    }
    const { well, ill } = pair({ kind: 'node-disobeys-lease', ...AT, node: 'bench' }, 2, act)
    expect(reports(well.said).at(-1)!.state).toBe('stopped')
    expect(ill.world.truth().pumps['pump-3']!.ranMs).toBe(180_000)
    expect(well.world.truth().pumps['pump-3']!.ranMs).toBeLessThan(180_000)
  },
  'node-forgets-totals': () => {
    const { well, ill } = pair({ kind: 'node-forgets-totals', fromDay: 2 / 24, node: 'bench' }, 3, shoot('pump-3'))
    const total = (driver: Driver) =>
      heartbeats(driver.said)
        .at(-1)!
        .pumps.find(({ id }) => id === 'pump-3')!.totalRunMs
    expect(total(well)).toBe(60_000)
    expect(total(ill)).toBe(0)
  },
  'messages-lost': () => {
    const { well, ill } = pair({ kind: 'messages-lost', ...AT, node: 'bench', share: 0.5 }, 5)
    const share = afterHours(ill, 1).length / afterHours(well, 1).length
    expect(share).toBeGreaterThan(0.4)
    expect(share).toBeLessThan(0.6)
  },
  'messages-doubled': () => {
    const { well, ill } = pair({ kind: 'messages-doubled', ...AT, node: 'bench', share: 1 }, 3, shoot('pump-3'))
    expect(afterHours(ill, 2).length).toBe(2 * afterHours(well, 2).length)
    expect(ill.world.truth().pumps['pump-3']!.ranMs).toBe(60_000)
  },
  'messages-late': () => {
    const { ill } = pair({ kind: 'messages-late', ...AT, node: 'bench', byMs: 90_000 }, 2, (driver) =>
      driver.shoot('pump-3', 60_000),
    )
    // The start window of a minute had passed when the command came.
    expect(reports(ill.said).at(-1)).toMatchObject({ state: 'refused', reason: 'too late to start' })
    const beat = afterHours(ill, 1.5).find(({ message }) => message.kind === 'heartbeat')!
    const uptimeMs = beat.message.kind === 'heartbeat' ? beat.message.message.uptimeMs : 0
    expect(beat.atMs - ill.world.startMs - uptimeMs).toBe(90_000)
  },
  'laboratory-late': () => {
    const { well, ill } = pair({ kind: 'laboratory-late', fromDay: 0, days: 4 }, 12)
    const come = ({ world }: Driver) => world.laboratoryReports(world.startMs + 30 * DAY_MS)[0]!.arrivesAtMs
    expect(come(ill) - come(well)).toBe(4 * DAY_MS)
  },
  'laboratory-nitrate-as-ion': () => {
    const { well, ill } = pair({ kind: 'laboratory-nitrate-as-ion', fromDay: 0 }, 12)
    const nitrate = ({ world }: Driver) => {
      const value = world.laboratoryReports(world.startMs + 30 * DAY_MS)[0]!.values[0]!
      return 'mgPerL' in value ? value.mgPerL : 0
    }
    expect(nitrate(ill) / nitrate(well)).toBeCloseTo(4.427, 1)
  },
}

describe('every kind of fault', () => {
  it('is one of at least 25', () => {
    expect(FAULT_KINDS.length).toBeGreaterThanOrEqual(25)
    expect(Object.keys(PROOFS).sort()).toEqual([...FAULT_KINDS].sort())
  })

  it.each(FAULT_KINDS)('%s fires', (kind) => PROOFS[kind]())

  it('leaves a plant alone before it begins and after it has ended', () => {
    const fault: Fault = { kind: 'probe-step', probe: 'ec-1', fromDay: 0.1, hours: 1, by: 1 }
    const { well, ill } = pair(fault, 6)
    const differing = valuesOf(ill.said, 'ec-1').filter((value, at) => value !== valuesOf(well.said, 'ec-1')[at])
    expect(differing).toHaveLength(60)
  })

  it('that names nothing of the plant is refused with its place', () => {
    const text = { ...PLANT, faults: [{ kind: 'probe-stuck', probe: 'ph-9', fromDay: 1 }] }
    expect(readScenario(text)).toEqual({
      kind: 'bad-scenario',
      problems: ["faults.0 probe-stuck: no probe 'ph-9' here"],
    })
  })
})
