import { beforeAll, describe, expect, it } from 'vitest'
import type { UnitCode } from '../../../../src/contract/unit.ts'
import {
  closeStep,
  coldSense,
  initialSense,
  latestOf,
  type RawReading,
  type SenseState,
  senseScan,
} from '../../../../src/core/sense/sense.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings

beforeAll(async () => {
  settings = await quarryLaneCore()
})

const reading = (id: string, value: number, unit: UnitCode, quality?: RawReading['quality']): RawReading => ({
  id,
  value,
  unit,
  quality,
})
const ec = (value: number, unit: UnitCode = 'mS/cm') => reading('ec-1', value, unit)
const scans = (from: SenseState, ...lists: RawReading[][]): SenseState =>
  lists.reduce((sense, readings, at) => senseScan(settings, sense, { atMs: at, node: 'bench', readings }), from)
const fusedOf = (...lists: RawReading[][]) => closeStep(settings, scans(initialSense(settings), ...lists)).fused
const withProbe = (id: string, change: object): CoreSettings => ({
  ...settings,
  probes: settings.probes.map((probe) => (probe.id === id ? { ...probe, ...change } : probe)),
})

describe('a reading becomes what is used inside', () => {
  it.each([
    ['mS/cm', 1.72],
    ['dS/m', 1.72],
    ['uS/cm', 1720],
  ] as const)('conductivity in %s', (unit, value) => {
    expect(fusedOf([ec(value, unit)]).conductivityDsPerM).toBeCloseTo(1.72, 12)
  })

  it('Fahrenheit and gallons, exact by definition', () => {
    const fused = fusedOf([reading('temperature-1', 68, '[degF]'), reading('level-1', 50, '[gal_us]')])
    expect(fused.temperatureC).toBeCloseTo(20, 9)
    expect(fused.levelL).toBeCloseTo(189.2706, 4)
  })

  it('raw conductivity is brought to 25 °C by the temperature of the same scan, about 2 % a degree', () => {
    const raw = withProbe('ec-1', { compensated: false })
    const at = (celsius: number) => {
      const readings = [reading('temperature-1', celsius, 'Cel'), ec(1.6)]
      return closeStep(raw, senseScan(raw, initialSense(raw), { atMs: 1, node: 'bench', readings })).fused
        .conductivityDsPerM!
    }
    expect(at(25)).toBeCloseTo(1.6, 6)
    // Fresh nutrient solutions: 1.9 to 2.1 % a degree (common practice).
    expect(at(20) / 1.6).toBeGreaterThan(1.09)
    expect(at(20) / 1.6).toBeLessThan(1.13)
    expect(at(30)).toBeLessThan(1.6)
  })

  it('raw conductivity without a temperature probe is taken at the temperature the site states', () => {
    const raw = withProbe('ec-1', { compensated: false })
    const blind = { ...raw, probes: raw.probes.filter(({ role }) => role !== 'temperature') }
    const seen = (from: CoreSettings, readings: RawReading[]) =>
      closeStep(from, senseScan(from, initialSense(from), { atMs: 1, node: 'bench', readings })).fused
        .conductivityDsPerM
    expect(seen(blind, [ec(1.6)])).toBe(
      seen(raw, [reading('temperature-1', settings.reservoir.temperatureC, 'Cel'), ec(1.6)]),
    )
  })

  it('by its own calibration, slope before offset', () => {
    const sense = initialSense(settings)
    const at = settings.probes.findIndex(({ id }) => id === 'ph-1')
    const calibrations = sense.calibrations.map((kept, place) => (place === at ? { slope: 0.98, offset: 0.2 } : kept))
    const seen = scans({ ...sense, calibrations }, [reading('ph-1', 6, '[pH]'), ec(1.7)])
    expect(latestOf(settings, seen, 'ph')?.value).toBeCloseTo(6.08, 12)
    expect(latestOf(settings, seen, 'conductivity')?.value).toBe(1.7)
  })
})

describe('what is not plausible is not a reading', () => {
  it.each([
    ['called bad by its node', reading('ec-1', 1.7, 'mS/cm', 'bad')],
    ['in a unit that cannot state it', ec(1.7, 'Cel')],
    ['no number', ec(Number.NaN)],
    ['endless', ec(Number.POSITIVE_INFINITY)],
    ['beyond this world', ec(25)],
    ['below it: a dry probe', ec(0)],
    ['of a probe nobody knows', reading('ec-9', 1.7, 'mS/cm')],
  ])('%s', (_what, one) => {
    const before = initialSense(settings)
    expect(scans(before, [one])).toBe(before)
    expect(fusedOf([one], [ec(1.72)], [one]).conductivityDsPerM).toBe(1.72)
  })

  it('nor is one of another node under the same name', () => {
    const before = initialSense(settings)
    expect(senseScan(settings, before, { atMs: 1, node: 'cellar', readings: [ec(1.7)] })).toBe(before)
  })

  it('but one that its node calls uncertain is: the median and the gate judge it', () => {
    expect(fusedOf([reading('ec-1', 1.7, 'mS/cm', 'uncertain')]).conductivityDsPerM).toBe(1.7)
  })
})

describe('the readings of a step are fused', () => {
  it('by their median, so that one wild value among three counts for nothing', () => {
    expect(fusedOf([ec(1.7)], [ec(3.1)], [ec(1.72)]).conductivityDsPerM).toBe(1.72)
    expect(fusedOf([ec(1.7)], [ec(1.72)]).conductivityDsPerM).toBeCloseTo(1.71, 12)
  })

  it('and a probe that was silent has no value in that step, while others have theirs', () => {
    const first = closeStep(settings, scans(initialSense(settings), [ec(1.7), reading('ph-1', 5.9, '[pH]')]))
    const second = closeStep(settings, scans(first.sense, [ec(1.71)])).fused
    expect(second).not.toHaveProperty('ph')
    expect(second.conductivityDsPerM).toBe(1.71)
    expect(latestOf(settings, first.sense, 'ph')).toMatchObject({ value: 5.9, atMs: 0 })
  })

  it('nothing from before a restart is fused with what comes after it, but the meter’s count stays', () => {
    const before = closeStep(settings, scans(initialSense(settings), [reading('meter-1', 100, 'L')])).sense
    const cold = coldSense(scans(before, [ec(1.5)], [reading('meter-1', 101, 'L')]))
    const { fused } = closeStep(settings, scans(cold, [ec(1.7)], [reading('meter-1', 103, 'L')]))
    expect(fused).toMatchObject({ conductivityDsPerM: 1.7, topUpL: 3 })
  })

  it('flow below half a litre a minute means that the film has drained back', () => {
    expect(fusedOf([reading('flow-1', 8, 'L/min')]).flowing).toBe(true)
    expect(fusedOf([reading('flow-1', 0.4, 'L/min')]).flowing).toBe(false)
    expect(fusedOf([reading('flow-1', 24, 'L/h')]).flowing).toBe(false)
    expect(fusedOf([ec(1.7)])).not.toHaveProperty('flowing')
  })
})

describe('the make-up meter', () => {
  const meter = (litres: number) => [reading('meter-1', litres, 'L')]
  /** litres counted in each step, a step a list of scans */
  const counted = (...steps: RawReading[][][]): (number | undefined)[] => {
    let sense = initialSense(settings)
    return steps.map((lists) => {
      const closed = closeStep(settings, scans(sense, ...lists))
      sense = closed.sense
      return closed.fused.topUpL
    })
  }

  it('tells the litres since the step before, and nothing of what it had counted before it was first read', () => {
    expect(counted([meter(5000)], [meter(5002), meter(5003)], [meter(5003)])).toEqual([0, 3, 0])
  })

  it('that is silent has let nothing in until it speaks again; then all of it', () => {
    expect(counted([meter(10)], [], [], [meter(14)])).toEqual([0, 0, 0, 4])
  })

  it('that starts anew, or is a new one, counts from there: no negative water', () => {
    expect(counted([meter(900)], [meter(0)], [meter(2)])).toEqual([0, 0, 2])
  })

  it('whose count is garbled once does not fill the reservoir many times over', () => {
    expect(counted([meter(900)], [meter(900_000)], [meter(901)], [meter(903)])).toEqual([0, 0, 0, 2])
  })

  it('that is not fitted tells nothing, which is not the same as no water', () => {
    const unmetered = { ...settings, probes: settings.probes.filter(({ role }) => role !== 'top-up') }
    expect(closeStep(unmetered, initialSense(unmetered)).fused).not.toHaveProperty('topUpL')
  })
})
