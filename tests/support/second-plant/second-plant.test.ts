import { beforeAll, describe, expect, it } from 'vitest'
import type { ReportMessage } from '../../../src/contract/message.ts'
import { heartbeatSchema, reportSchema, scanSchema, statusSchema } from '../../../src/contract/message.ts'
import { ION_FACTS, IONS, noSolutes, type OpenSolutes, SOLUTES, type Solute } from './ion.ts'
import { describeWater } from './reservoir.ts'
import { createSecondPlant, type Emission, NODE, type SecondPlant } from './second-plant.ts'
import { STOCKS, wellWater } from './supply.ts'

const START_MS = Date.UTC(2026, 2, 1)
const DAY_MS = 86_400_000
const SLOW = { heartbeatMs: 300_000, scanMs: 300_000 }
const SCHEMAS = { status: statusSchema, heartbeat: heartbeatSchema, scan: scanSchema, report: reportSchema }

const water = (parts: Partial<Record<Solute, number>>) => describeWater({ ...noSolutes(), ...parts })

describe('conductivity of known solutions', () => {
  it.each([
    ['0.01 mol/L potassium chloride, the common standard', { K: 10, Cl: 10 }, 1.413, 0.01],
    ['0.1 mol/L potassium chloride, the common standard', { K: 100, Cl: 100 }, 12.88, 0.02],
    ['0.005 mol/L calcium chloride, 120.4 S cm²/eq (handbook)', { Ca: 5, Cl: 10 }, 1.204, 0.02],
    ['0.005 mol/L magnesium sulfate, 76.2 S cm²/eq (handbook)', { Mg: 5, SO4: 5 }, 0.762, 0.1],
  ])('%s', (_name, parts, mSPerCm, part) => {
    expect(Math.abs(water(parts).mSPerCm / mSPerCm - 1)).toBeLessThan(part)
  })
})

describe('acidity', () => {
  it('of potassium phosphate with as much of each form is the second constant of phosphoric acid, about 6.8', () => {
    expect(water({ K: 1.5, P: 1 }).acidity.ph).toBeCloseTo(6.8, 1)
  })
  it('of the well’s water is its alkalinity, 138 mg/L of calcium carbonate, against its carbon', () => {
    const { hco3, co3, ph } = describeWater(wellWater()).acidity
    expect(hco3 + 2 * co3).toBeCloseTo(138 / 50.04, 2)
    expect(ph).toBeCloseTo(7.2, 1)
  })
})

describe('a week in which nobody doses', () => {
  let plant: SecondPlant
  let said: Emission[]
  let conductivityBefore: number
  beforeAll(() => {
    plant = createSecondPlant({ seed: 7, startMs: START_MS, habits: SLOW })
    conductivityBefore = plant.water().mSPerCm
    said = plant.advanceTo(START_MS + 7 * DAY_MS)
  })

  it('starts at pH 5.9 with an ordinary nutrient solution', () => {
    const fresh = createSecondPlant({ seed: 7, startMs: START_MS })
    expect(fresh.water().acidity.ph).toBeCloseTo(5.9, 1)
    expect(conductivityBefore).toBeGreaterThan(1.6)
    expect(conductivityBefore).toBeLessThan(2)
  })
  it('lets conductivity fall and pH rise', () => {
    expect(plant.water().mSPerCm).toBeLessThan(conductivityBefore - 0.15)
    expect(plant.water().acidity.ph).toBeGreaterThan(7.5)
  })
  it('drinks 15 L a day and more, which the float valve makes up and the meter counts', () => {
    const { transpiredL, makeUpL, standingL } = plant.accounts()
    expect(transpiredL).toBeGreaterThan(90)
    expect(transpiredL).toBeLessThan(170)
    expect(Math.abs(makeUpL - transpiredL)).toBeLessThan(1.5)
    expect(Math.abs(standingL - 208)).toBeLessThan(1.5)
    const counts = said.flatMap((one) =>
      one.kind === 'scan' ? one.message.readings.filter(({ id }) => id === 'meter-1').map(({ value }) => value) : [],
    )
    expect(counts.every((count, index) => count >= (counts[index - 1] ?? 0))).toBe(true)
    expect(Math.abs(counts.at(-1)! / makeUpL - 1)).toBeLessThan(0.021)
  })
  it('says nothing that the contract does not know', () => {
    for (const one of said) expect(SCHEMAS[one.kind].safeParse(one.message).success, one.kind).toBe(true)
  })
})

describe('conservation', () => {
  it('finds every element, and the water, that went in: in the tank, in the crop, in the scale or in the air', () => {
    const plant = createSecondPlant({ seed: 3, startMs: START_MS, habits: SLOW })
    const before = plant.accounts()
    for (const [index, pump] of Object.keys(STOCKS).entries())
      dose(plant, START_MS + (1 + index) * 3_600_000, pump, 120_000)
    plant.advanceTo(START_MS + 2 * DAY_MS)
    const after = plant.accounts()
    const dosedL = Object.entries(STOCKS).map(([pump, { rateMlPerMin }]) => {
      expect(after.pumpSeconds[pump]).toBeCloseTo(120, 6)
      return [pump, (2 * rateMlPerMin * plant.errors.pumpGain[pump]!) / 1000] as const
    })
    const expected =
      before.volumeL + after.makeUpL + dosedL.reduce((sum, [, litres]) => sum + litres, 0) - after.transpiredL
    expect(after.volumeL).toBeCloseTo(expected, 6)
    for (const solute of SOLUTES) {
      let wanted = before.mmol[solute] + wellWater()[solute] * after.makeUpL
      for (const [pump, litres] of dosedL) wanted += STOCKS[pump]!.solutes[solute] * litres
      wanted -= after.takenMmol[solute] + after.settledMmol[solute] - (solute === 'C' ? after.airMmol : 0)
      expect(after.mmol[solute], solute).toBeCloseTo(wanted, 5)
    }
  })
  it('keeps the solution neutral, and the nitric acid lowers its pH', () => {
    const plant = createSecondPlant({ seed: 4, startMs: START_MS, habits: SLOW })
    const idle = createSecondPlant({ seed: 4, startMs: START_MS, habits: SLOW })
    dose(plant, START_MS + 3_600_000, 'pump-4', 120_000)
    for (const one of [plant, idle]) one.advanceTo(START_MS + DAY_MS / 4)
    const { acidity } = plant.water()
    expect(acidity.ph).toBeLessThan(idle.water().acidity.ph - 0.05)
    const mmolPerL: OpenSolutes = noSolutes()
    const truth = plant.truthMgPerL()
    for (const ion of IONS) mmolPerL[ion] = truth[ION_FACTS[ion].label]! / ION_FACTS[ion].elementGPerMol
    const positive = mmolPerL.NH4 + mmolPerL.K + mmolPerL.Na + 2 * (mmolPerL.Ca + mmolPerL.Mg)
    const trace = 2 * (mmolPerL.Mn + mmolPerL.Zn + mmolPerL.Cu - mmolPerL.Fe - mmolPerL.Mo)
    const negative = mmolPerL.NO3 + mmolPerL.Cl + 2 * mmolPerL.SO4
    const phosphate = acidity.h2po4 + 2 * acidity.hpo4
    const water = 10 ** (3 - acidity.ph) - 10 ** (acidity.ph - 11)
    expect(positive + trace + water).toBeCloseTo(negative + phosphate + acidity.hco3 + 2 * acidity.co3, 6)
    expect(acidity.h2po4 + acidity.hpo4).toBeCloseTo(mmolPerL.P, 2)
  })
})

describe('the node’s side of the contract', () => {
  const controller = 'daemon'
  const fresh = (habits = {}) => createSecondPlant({ seed: 1, startMs: START_MS, habits: { ...SLOW, ...habits } })

  const lease = (plant: SecondPlant, atMs: number, more: object = {}) => {
    const message = { controller, term: 5, boot: plant.status().boot, untilUptimeMs: atMs + 30_000, ...more }
    plant.receive(START_MS + atMs, NODE, { kind: 'lease', message })
  }
  const command = (plant: SecondPlant, atMs: number, more: object = {}) => {
    const { boot } = plant.status()
    const message = { id: 'c1', controller, term: 5, boot, runMs: 10_000, startBeforeUptimeMs: atMs + 5000, ...more }
    plant.receive(START_MS + atMs, NODE, { kind: 'command', pump: 'pump-1', message })
  }
  const reports = (plant: SecondPlant, atMs: number): ReportMessage[] =>
    plant.advanceTo(START_MS + atMs).flatMap((one) => (one.kind === 'report' ? [one.message] : []))

  it('runs a shot under a lease and says so', () => {
    const plant = fresh()
    lease(plant, 1000)
    command(plant, 1000)
    const told = reports(plant, 60_000)
    expect(told.map(({ state }) => state)).toEqual(['accepted', 'running', 'done'])
    expect(told[2]).toMatchObject({ ranMs: 10_000, totalRunMs: 10_000, uptimeMs: 11_000 })
    expect(plant.pumpSeconds()['pump-1']).toBeCloseTo(10, 9)
  })

  it.each([
    ['that came after its deadline', { startBeforeUptimeMs: 1000 }],
    ['for another boot', { boot: 'yesterday' }],
    ['of a lower term', { term: 4 }],
    ['of another controller', { controller: 'stranger' }],
    ['longer than the board allows', { runMs: 240_001 }],
  ])('refuses a command %s', (_name, more) => {
    const plant = fresh()
    lease(plant, 1000)
    command(plant, 1000, more)
    expect(reports(plant, 60_000).map(({ state }) => state)).toEqual(['refused'])
    expect(plant.pumpSeconds()['pump-1']).toBe(0)
  })

  it('refuses a command without a lease, and after the lease has run out', () => {
    const plant = fresh()
    command(plant, 1000)
    lease(plant, 2000, { untilUptimeMs: 3000 })
    command(plant, 3000, { id: 'c2' })
    expect(reports(plant, 60_000).map(({ state }) => state)).toEqual(['refused', 'refused'])
  })

  it('stops when the lease runs out, to the millisecond', () => {
    const plant = fresh()
    lease(plant, 1000, { untilUptimeMs: 5000 })
    command(plant, 1000)
    expect(reports(plant, 60_000).at(-1)).toMatchObject({ state: 'stopped', ranMs: 4000, totalRunMs: 4000 })
    expect(plant.pumpSeconds()['pump-1']).toBeCloseTo(4, 9)
  })

  it('stops at once at a lease of 0', () => {
    const plant = fresh()
    lease(plant, 1000)
    command(plant, 1000)
    lease(plant, 3500, { untilUptimeMs: 0 })
    expect(reports(plant, 60_000).at(-1)).toMatchObject({ state: 'stopped', ranMs: 2500 })
  })

  it('obeys an id once, whether it tells of the first copy again or refuses the second', () => {
    for (const secondCopy of ['tell-again', 'refuse'] as const) {
      const plant = fresh({ secondCopy })
      lease(plant, 1000)
      command(plant, 1000)
      command(plant, 14_000)
      const last = reports(plant, 60_000).at(-1)
      expect(last?.state).toBe(secondCopy === 'refuse' ? 'refused' : 'done')
      expect(plant.pumpSeconds()['pump-1']).toBeCloseTo(10, 9)
    }
  })

  it('runs one pump of the group at a time', () => {
    const plant = fresh()
    lease(plant, 1000)
    command(plant, 1000)
    command(plant, 2000, { id: 'c2' })
    expect(reports(plant, 60_000).map(({ id, state }) => `${id} ${state}`)).toContain('c2 refused')
  })

  it('refuses another controller’s lease while one lives', () => {
    const plant = fresh()
    lease(plant, 1000)
    lease(plant, 2000, { controller: 'stranger', term: 9 })
    command(plant, 2000, { controller: 'stranger', term: 9 })
    expect(reports(plant, 60_000).map(({ state }) => state)).toEqual(['refused'])
  })

  it('after a power cut in mid-shot doubts the whole run, keeps the term, and refuses what was meant for before', () => {
    const plant = fresh()
    const { boot } = plant.status()
    lease(plant, 1000)
    command(plant, 1000)
    plant.powerCycle(START_MS + 4000)
    plant.receive(START_MS + 4500, NODE, {
      kind: 'lease',
      message: { controller, term: 4, boot: plant.status().boot, untilUptimeMs: 9000 },
    })
    command(plant, 5000, { boot })
    const said = plant.advanceTo(START_MS + 60_000)
    const beats = said.flatMap((one) => (one.kind === 'heartbeat' ? [one.message] : []))
    expect(beats.at(-1)).toMatchObject({
      term: 5,
      pumps: [{ id: 'pump-1', totalRunMs: 0, doubtMs: 10_000 }, {}, {}, {}],
    })
    expect(beats.at(-1)?.boot).not.toBe(boot)
    expect(said.flatMap((one) => (one.kind === 'report' ? [one.message.state] : [])).at(-1)).toBe('refused')
    expect(plant.pumpSeconds()['pump-1']).toBeCloseTo(3, 9)
  })
})

/** One shot under a lease of its own. */
function dose(plant: SecondPlant, atMs: number, pump: string, runMs: number): void {
  const { boot } = plant.status()
  const untilUptimeMs = atMs - START_MS + runMs + 1000
  const by = { controller: 'daemon', term: 1, boot }
  plant.receive(atMs, NODE, { kind: 'lease', message: { ...by, untilUptimeMs } })
  const message = { ...by, id: `${pump}-${atMs}`, runMs, startBeforeUptimeMs: untilUptimeMs }
  plant.receive(atMs, NODE, { kind: 'command', pump, message })
}
