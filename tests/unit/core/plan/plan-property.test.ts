import fc from 'fast-check'
import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENTS } from '../../../../src/chemistry/element.ts'
import { findDosables } from '../../../../src/core/plan/dosable.ts'
import { chooseDoses, type DoseQuestion, toProgram, usableStocks } from '../../../../src/core/plan/dose-program.ts'
import { tracePaths } from '../../../../src/core/plan/level-path.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import { plan } from '../../../../src/core/plan/planner.ts'
import { loadOracle, type Oracle, objectiveOf } from '../../formulation/solver/highs-oracle.ts'
import {
  AT_MS,
  BANDS,
  benchInput,
  forecastFor,
  headroomFor,
  levelsAfter,
  STOCKS,
  withSettings,
} from './plan-fixture.ts'

const shares = (max: number) =>
  fc.array(fc.double({ min: 0, max, noNaN: true }), { minLength: ELEMENT_COUNT, maxLength: ELEMENT_COUNT })

/** Any reservoir: starved or overloaded, well or badly known, with room or without. */
const reservoirs: fc.Arbitrary<PlanInput> = fc
  .record({
    levels: shares(2.2),
    doubts: shares(0.8),
    litres: fc.double({ min: 0, max: 4, noNaN: true }),
    volumeL: fc.double({ min: 40, max: 5000, noNaN: true }),
    ph: fc.option(fc.double({ min: 4.5, max: 7.5, noNaN: true }), { nil: undefined }),
    alkalinityMeqPerL: fc.double({ min: -0.2, max: 2, noNaN: true }),
    conductivityDsPerM: fc.double({ min: 0.8, max: 3.5, noNaN: true }),
    room: fc.array(fc.record({ hourUl: fc.nat(80_000), dayUl: fc.nat(400_000), waitMin: fc.nat(70) }), {
      minLength: 4,
      maxLength: 4,
    }),
    factors: fc.array(fc.double({ min: 0.5, max: 1.5, noNaN: true }), { minLength: 4, maxLength: 4 }),
    owedUl: fc.nat(2000),
  })
  .map((drawn) => {
    const mmolPerL = Float64Array.from(drawn.levels, (share, e) => share * BANDS[e]!.aim)
    const estimate = {
      ...{ volumeL: drawn.volumeL, mmolPerL, ph: drawn.ph, conductivityDsPerM: drawn.conductivityDsPerM },
      ...{ alkalinityMeqPerL: drawn.alkalinityMeqPerL, alkalinitySdMeqPerL: 0.05 },
      sdMmolPerL: Float64Array.from(drawn.doubts, (share, e) => share * BANDS[e]!.aim),
    }
    const stocks = drawn.room.map(({ hourUl, dayUl, waitMin }, s) =>
      headroomFor(STOCKS[s]!.id, { hourUl, dayUl, notBeforeMs: AT_MS + waitMin * 60_000 }),
    )
    return benchInput({
      estimate,
      forecast: forecastFor(drawn.litres),
      headroom: { stocks },
      deliveryFactor: Float64Array.from(drawn.factors),
      owed: STOCKS.map(({ id }) => ({ stock: id, volumeUl: drawn.owedUl })),
    })
  })

describe('in any reservoir', () => {
  it('doses are whole, finite, within the headroom, and made of shots that pumps can run', () => {
    fc.assert(
      fc.property(reservoirs, (input) => {
        const made = plan(input)
        expect(made.notes.map(({ kind }) => kind)).not.toContain('solver')
        for (const dose of made.doses) {
          const told = input.headroom.stocks.find(({ stock }) => stock === dose.stock)!
          expect(Number.isInteger(dose.volumeUl) && dose.volumeUl > 0).toBe(true)
          expect(dose.volumeUl).toBeLessThanOrEqual(Math.min(told.hourUl, told.dayUl))
          expect(dose.reason).not.toMatch(/NaN|unknown|undefined|Infinity/)
          const shots = made.shots.filter(({ stock }) => stock === dose.stock)
          expect(shots.reduce((sum, shot) => sum + shot.volumeUl, 0)).toBe(dose.volumeUl)
          const smallest = STOCKS.find(({ id }) => id === dose.stock)!.shotMinUl
          for (const shot of shots) {
            expect(shot.volumeUl).toBeGreaterThanOrEqual(smallest)
            expect(shot.volumeUl).toBeLessThanOrEqual(told.shotMaxUl)
            expect(shot.notBeforeMs).toBeGreaterThanOrEqual(told.notBeforeMs)
            expect(shot.notBeforeMs).toBeLessThan(made.untilMs)
          }
        }
        for (const { volumeUl } of made.left) expect(Number.isInteger(volumeUl) && volumeUl > 0).toBe(true)
      }),
      { numRuns: 400, seed: 20260320 },
    )
  })

  it('no nutrient stock pushes an element over its high edge, unless another would stay below its low one', () => {
    fc.assert(
      fc.property(reservoirs, (input) => {
        const made = plan(input)
        const undosed = levelsAfter(input, { ...made, doses: made.doses.filter(({ stock }) => stock === 'acid') })
        const after = levelsAfter(input, made)
        const starved = BANDS.some((band, e) => band.weight > 0 && after[e]! < band.low)
        for (const [e, band] of BANDS.entries()) {
          const neverRaised = ['Na', 'Cl', 'B', 'Mn', 'Zn', 'Cu', 'NH4-N'].includes(ELEMENTS[e]!)
          if (Math.max(undosed[e]!, input.estimate.mmolPerL[e]!) > band.high) continue
          if (starved && !neverRaised) continue
          expect(after[e]! / band.high, ELEMENTS[e]).toBeLessThanOrEqual(1 + 1e-9)
        }
      }),
      { numRuns: 400, seed: 20260321 },
    )
  })

  it('never plans acid at or below the low edge of pH', () => {
    fc.assert(
      fc.property(reservoirs, (input) => {
        const { ph } = input.estimate
        fc.pre(ph !== undefined && ph <= input.phBand.low)
        expect(plan(input).doses.map(({ stock }) => stock)).not.toContain('acid')
      }),
      { numRuns: 150, seed: 20260322 },
    )
  })

  it('keeps stocks that must not meet apart, whichever way round', () => {
    fc.assert(
      fc.property(reservoirs, (input) => {
        const { shots } = plan(input)
        for (const one of shots) {
          for (const other of shots) {
            if (one === other || one.notBeforeMs > other.notBeforeMs) continue
            const waitMs =
              one.stock === other.stock ? headroomFor(one.stock).gapMs : input.waits.apartMs(one.stock, other.stock)
            const runMs = (one.volumeUl / STOCKS.find(({ id }) => id === one.stock)!.rateUlPerS) * 1000
            expect(other.notBeforeMs - one.notBeforeMs).toBeGreaterThanOrEqual(waitMs + runMs - 1)
          }
        }
      }),
      { numRuns: 200, seed: 20260323 },
    )
  })
})

describe('against a second solver', () => {
  let oracle: Oracle
  beforeAll(async () => {
    oracle = await loadOracle()
  })

  it('no other volumes of 200 random benches would cost less', () => {
    let compared = 0
    for (const input of fc.sample(reservoirs, { numRuns: 200, seed: 20260324 })) {
      const question = questionOf(input)
      const usable = usableStocks(question)
      if (usable.length === 0) continue
      const { program } = toProgram(question)
      const ours = chooseDoses(question)
      if (ours.kind !== 'doses') throw new Error(ours.explanation)
      const theirs = oracle.solve(program)
      if (theirs.status !== 'Optimal') continue
      compared++
      const cost = objectiveOf(
        program,
        withEdges(
          program,
          usable.map((s) => ours.volumeMl[s]!),
        ),
      )
      expect(cost).toBeLessThanOrEqual(theirs.objective + 1e-6 * Math.max(1, Math.abs(theirs.objective)))
    }
    expect(compared).toBeGreaterThan(120)
  })
})

function questionOf(input: PlanInput): DoseQuestion {
  const dosables = findDosables(withSettings(input, {}))
  return {
    paths: tracePaths(input),
    dosables,
    conductivityDsPerMPerMmolPerL: input.responses.conductivityDsPerMPerMmolPerL,
    conductivityRoomDsPerM: Math.max(0, 2.8 - input.estimate.conductivityDsPerM),
  }
}

/** The columns that are not volumes follow from them: each edge is missed by exactly what is missing. */
function withEdges(program: ReturnType<typeof toProgram>['program'], volumes: readonly number[]): Float64Array {
  const x = new Float64Array(program.linear.length)
  x.set(volumes)
  for (let column = volumes.length; column < x.length; column++) {
    const row = program.rows.findIndex((line) => line[column] === 1)
    const kept = volumes.reduce((sum, ml, j) => sum + program.rows[row]![j]! * ml, 0)
    x[column] = Math.max(0, program.atLeast[row]! - kept)
  }
  return x
}
