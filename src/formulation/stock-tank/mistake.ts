// What can go wrong in mixing a tank, and what conductivity of the diluted sample would betray it.

import { readSalt } from '../../chemistry/salt.ts'
import { concentrateOf, dilutedDsPerM } from './concentrate.ts'
import type { TankSalt } from './tank-salt.ts'

export interface Mistake {
  readonly kind: 'wrong hydrate' | 'half bag' | 'forgotten' | 'weighed twice' | 'swapped tanks' | 'half water'
  /** the salt it is about; empty where it is about the tank */
  readonly salt: string
  /** the sentence on the card */
  readonly text: string
  readonly dsPerM: number
  /** of what is expected */
  readonly ratio: number
}

/** A reading within this share of the expected one passes. */
export const CHECK_TOLERANCE = 0.03

/** Forms in which the same salt is sold, by formula. */
const HYDRATES: readonly (readonly string[])[] = [
  ['Ca(NO3)2.4H2O', 'Ca(NO3)2', '5Ca(NO3)2.NH4NO3.10H2O'],
  ['MgSO4.7H2O', 'MgSO4.H2O', 'MgSO4'],
  ['Mg(NO3)2.6H2O', 'Mg(NO3)2'],
  ['CaCl2.2H2O', 'CaCl2', 'CaCl2.6H2O'],
  ['MnSO4.H2O', 'MnSO4.4H2O'],
  ['ZnSO4.7H2O', 'ZnSO4.H2O'],
  ['CuSO4.5H2O', 'CuSO4'],
  ['Na2MoO4.2H2O', 'Na2MoO4'],
]

export interface MixedTank {
  readonly name: string
  readonly factor: number
  readonly salts: readonly TankSalt[]
}

/** Every mistake of the kinds above with the conductivity, dS/m, that a 1:100 dilution in pure water would then show. */
export function possibleMistakes(tank: MixedTank, others: readonly MixedTank[]): readonly Mistake[] {
  const expected = shown(tank.salts, tank.factor)
  const mistake = (kind: Mistake['kind'], salt: string, text: string, dsPerM: number): Mistake[] =>
    Number.isFinite(dsPerM) && expected > 0 ? [{ kind, salt, text, dsPerM, ratio: dsPerM / expected }] : []
  const bySalt = tank.salts.flatMap((salt) => {
    const times = (share: number) =>
      shown(replaced(tank.salts, salt, { ...salt, gPerL: salt.gPerL * share }), tank.factor)
    return [
      ...mistake('forgotten', salt.name, `${salt.name} left out`, times(0)),
      ...mistake('half bag', salt.name, `half of the ${salt.name}`, times(0.5)),
      ...mistake('weighed twice', salt.name, `${salt.name} weighed twice`, times(2)),
      ...hydratesOf(salt).flatMap((other) =>
        mistake(
          'wrong hydrate',
          salt.name,
          `${other.name} for ${salt.formula}`,
          shown(replaced(tank.salts, salt, other), tank.factor),
        ),
      ),
    ]
  })
  const swaps = others.flatMap((other) =>
    mistake('swapped tanks', '', `the tank is ${other.name}`, shown(other.salts, other.factor)),
  )
  return [
    ...bySalt,
    ...swaps,
    ...mistake('half water', '', 'filled to half the volume', shown(tank.salts, 2 * tank.factor)),
  ]
}

export interface DilutionVerdict {
  readonly kind: 'as-expected' | 'too-low' | 'too-high'
  /** measured over expected */
  readonly ratio: number
  /** mistakes that would show within the tolerance of what was measured, nearest first; empty where as expected */
  readonly perhaps: readonly Mistake[]
}

/**
 * What a measured dilution says.
 *
 * @param measuredDsPerM 10 mL of the tank made up to 1 L with pure water, at 25 °C
 */
export function judgeDilution(
  expectedDsPerM: number,
  mistakes: readonly Mistake[],
  measuredDsPerM: number,
): DilutionVerdict {
  const ratio = measuredDsPerM / expectedDsPerM
  if (Math.abs(ratio - 1) <= CHECK_TOLERANCE) return { kind: 'as-expected', ratio, perhaps: [] }
  const distance = ({ dsPerM }: Mistake) => Math.abs(dsPerM / measuredDsPerM - 1)
  const perhaps = mistakes
    .filter((mistake) => distance(mistake) <= CHECK_TOLERANCE)
    .sort((a, b) => distance(a) - distance(b))
  return { kind: ratio < 1 ? 'too-low' : 'too-high', ratio, perhaps }
}

/** Would the check see it? One that shifts conductivity by less than the tolerance passes unseen. */
export function isSeen({ ratio }: Pick<Mistake, 'ratio'>): boolean {
  return Math.abs(ratio - 1) > CHECK_TOLERANCE
}

function shown(salts: readonly TankSalt[], factor: number): number {
  return dilutedDsPerM(concentrateOf(salts, factor))
}

function replaced(salts: readonly TankSalt[], one: TankSalt, by: TankSalt): readonly TankSalt[] {
  return salts.map((salt) => (salt === one ? by : salt))
}

/** The same grams of another form. */
function hydratesOf(salt: TankSalt): TankSalt[] {
  const family = HYDRATES.find((forms) => salt.formula !== undefined && forms.includes(salt.formula)) ?? []
  return family.flatMap((formula): TankSalt[] => {
    const content = readSalt({ kind: 'formula', formula, purity: 1 })
    if (formula === salt.formula || content.kind !== 'salt') return []
    return [{ ...salt, name: formula, formula, content }]
  })
}
