import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { equilibriaAt } from '../../../simulator/equilibria.ts'
import { conductivityDsPerM, mobilitiesAt } from '../../../simulator/mobility.ts'
import { alkalinityOf, CARBON, closeCharge, SOLUTE_COUNT, UNTRACKED } from '../../../simulator/solution.ts'
import { speciate } from '../../../simulator/speciation.ts'
import { AT, SPECIES_CHARGE } from '../../../simulator/species.ts'
import { ELEMENT_INDEX, type ElementName } from '../../../src/chemistry/element.ts'

interface Case {
  readonly id: string
  readonly temperatureC: number
  readonly totalsMmolPerL: Readonly<Record<string, number>>
  readonly ph: number
  readonly conductivityUsPerCm: { readonly stock389: number; readonly db2021: number }
}
const FIXTURE = new URL('../../fixtures/simulator/phreeqc-waters.json', import.meta.url)
const CASES = (JSON.parse(readFileSync(FIXTURE, 'utf8')) as { cases: Case[] }).cases

const NAMES: Record<string, ElementName> = { NO3: 'NO3-N', NH4: 'NH4-N', SO4: 'S' }

function solutesOf(totals: Readonly<Record<string, number>>): Float64Array {
  const solutes = new Float64Array(SOLUTE_COUNT)
  for (const [name, mmolPerL] of Object.entries(totals)) {
    if (name === 'TIC') solutes[CARBON] = mmolPerL
    else solutes[ELEMENT_INDEX[NAMES[name] ?? (name as ElementName)]] = mmolPerL
  }
  return solutes
}

/** NIST standards per kg of water as amounts per litre: densities 0.9975 and 1.0017 kg/L at 25 °C (CRC, from memory). */
const KCL = [
  { mmolPerL: 9.97, temperatureC: 25, uSPerCm: 1408.23 },
  { mmolPerL: 9.98, temperatureC: 20, uSPerCm: 1273.03 },
  { mmolPerL: 9.96, temperatureC: 30, uSPerCm: 1546.63 },
  { mmolPerL: 99.4, temperatureC: 25, uSPerCm: 12824.6 },
  { mmolPerL: 99.5, temperatureC: 20, uSPerCm: 11615.9 },
]

describe('water of the simulated plant', () => {
  it.each(KCL)(
    'conducts like the potassium chloride standard, $uSPerCm µS/cm at $temperatureC °C (NIST, as printed in the CRC Handbook)',
    ({ mmolPerL, temperatureC, uSPerCm }) => {
      const speciation = speciate(solutesOf({ K: mmolPerL, Cl: mmolPerL }), equilibriaAt(temperatureC))
      const found = 1000 * conductivityDsPerM(speciation, mobilitiesAt(temperatureC))
      expect(Math.abs(found / uSPerCm - 1)).toBeLessThan(0.015)
    },
  )

  it.each(CASES)('$id conducts within 4 % of PHREEQC 3.8.9, the mean of its two databases', (water) => {
    const speciation = speciate(solutesOf(water.totalsMmolPerL), equilibriaAt(water.temperatureC))
    const found = 1000 * conductivityDsPerM(speciation, mobilitiesAt(water.temperatureC))
    const { stock389, db2021 } = water.conductivityUsPerCm
    expect(Math.abs(found / ((stock389 + db2021) / 2) - 1)).toBeLessThan(0.04)
  })

  it.each(CASES.filter(({ id }) => /^[BCE]/.test(id)))('$id has the pH of PHREEQC 3.8.9 within 0.04', (water) => {
    const found = speciate(solutesOf(water.totalsMmolPerL), equilibriaAt(water.temperatureC))
    expect(Math.abs(found.ph - water.ph)).toBeLessThan(0.04)
  })

  it('is electrically neutral after every speciation, untracked charge included', () => {
    for (const water of CASES) {
      const solutes = solutesOf(water.totalsMmolPerL)
      solutes[UNTRACKED] = 0.1
      const { molPerL } = speciate(solutes, equilibriaAt(water.temperatureC))
      const charge = molPerL.reduce((sum, amount, at) => sum + amount * SPECIES_CHARGE[at]!, 0.0001)
      expect(Math.abs(charge)).toBeLessThan(1e-8)
    }
  })

  it('starts from a neighbour and arrives where it would have arrived from nothing', () => {
    const lettuce = solutesOf(CASES.find(({ id }) => id === 'B-lettuce-pH6.0-20C')!.totalsMmolPerL)
    const hoagland = solutesOf(CASES.find(({ id }) => id === 'B-hoagland1-pH6.5-20C')!.totalsMmolPerL)
    const constants = equilibriaAt(20)
    const cold = speciate(lettuce, constants)
    const warm = speciate(lettuce, constants, speciate(hoagland, constants))
    expect(warm.ph).toBeCloseTo(cold.ph, 6)
    expect(warm.molPerL[AT.CaSO4]!).toBeCloseTo(cold.molPerL[AT.CaSO4]!, 9)
  })

  it('lets drawn errors make no charge: the gap is shared and the balance is exact', () => {
    const solutes = solutesOf({ K: 5, Ca: 3.2, Mg: 1.5, NO3: 10, SO4: 1.7, P: 1.3 })
    const spread = Array.from({ length: SOLUTE_COUNT }, () => 0.05)
    const closed = closeCharge(solutes, spread, 0.15)
    expect(alkalinityOf(closed)).toBeCloseTo(0.15, 9)
    expect(Math.abs(closed[ELEMENT_INDEX.K]! / 5 - 1)).toBeLessThan(0.1)
  })
})
