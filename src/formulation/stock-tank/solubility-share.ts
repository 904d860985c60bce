// How near a stock stands to crystallising, at the coldest its tank gets.

import { type Composition, ELEMENTS } from '../../chemistry/element.ts'
import { formulaElements, molarMassGPerMol } from '../../chemistry/molar-mass.ts'
import { SOLUBILITY_FORMULAS, solubilityOf } from '../../chemistry/solubility.ts'
import type { TankSalt } from './tank-salt.ts'

export interface SolubilityShare {
  /** what would settle first: a formula, or the name of a salt told by its label */
  readonly solid: string
  /** 1 is the edge; it grows in proportion to the strength of the stock */
  readonly share: number
  /** above this the stock is too near the edge to be relied on */
  readonly shareMax: number
  /** above this it crystallises: 1, or less where the figure is for a warmer tank */
  readonly shareEdge: number
  /** what the edge stands on: g/L of that solid alone, at `tabulatedC` */
  readonly solubilityGPerL: number
  readonly tabulatedC: number
  /** true where the tank gets colder than any figure known; shareMax is then lowered */
  readonly isOptimistic: boolean
}

/** Common practice: below 80 % of solubility at the coldest night (references: hazards of dosing, crystallised stock). */
export const SHARE_MAX = 0.8

/**
 * Where the figure is for a warmer tank, this much less is allowed for every degree. A judgement on the safe side: of
 * handbook values (from memory) potassium nitrate loses 3.4 % a degree, boric acid 2.4, monopotassium phosphate 1.9.
 */
const LOSS_PER_DEGREE = 0.035

/** These are told by the salt itself: their ions in water are not those that the element totals count. */
const BY_THE_SALT_ITSELF = ['Na2B4O7.10H2O']

/**
 * The share of what can dissolve, for every solid that the ions of the tank could form, nearest to its limit first.
 *
 * The ions count, not the bags: potassium nitrate beside magnesium sulfate can drop potassium sulfate. The product of
 * concentrations is compared with that of the saturated solution of the solid alone, and the root taken by the number
 * of ions, so that a salt alone gives its plain share and every share is in proportion to the strength. Activity is
 * left out; a mixed concentrate holds rather more than this says.
 *
 * @param mmolPerL of the concentrate
 * @param salts at working strength, `factor` times that in the tank; a salt told by its label is judged by its mass too
 */
export function solubilityShares(
  mmolPerL: Composition,
  salts: readonly TankSalt[],
  factor: number,
  coldestC: number,
): readonly SolubilityShare[] {
  const byIons = SOLUBILITY_FORMULAS.filter((formula) => !BY_THE_SALT_ITSELF.includes(formula)).map((formula) =>
    shareOfFormula(formula, mmolPerL, coldestC),
  )
  const byMass = salts
    .filter(({ formula }) => formula === undefined || !isCountedByIons(formula))
    .map((salt) => shareOfMass(salt, factor, coldestC))
  return [...byIons, ...byMass]
    .filter((share) => share !== undefined)
    .sort((a, b) => b.share / b.shareMax - a.share / a.shareMax)
}

/** Salts of which nothing at all is known: neither a row in the table nor a figure in the salts file. */
export function unknownSolubility(salts: readonly TankSalt[]): readonly string[] {
  return salts
    .filter(({ formula, solubilityAt20GPerL }) => {
      const isTabulated = formula !== undefined && SOLUBILITY_FORMULAS.includes(formula)
      return !isTabulated && solubilityAt20GPerL === undefined
    })
    .map(({ name }) => name)
}

function isCountedByIons(formula: string): boolean {
  return SOLUBILITY_FORMULAS.includes(formula) && !BY_THE_SALT_ITSELF.includes(formula)
}

function shareOfFormula(formula: string, mmolPerL: Composition, coldestC: number): SolubilityShare | undefined {
  const solubility = solubilityOf(formula, coldestC)
  const elements = formulaElements(formula)
  const molar = molarMassGPerMol(formula)
  if (solubility.kind !== 'solubility' || elements.kind !== 'elements' || molar.kind !== 'molar-mass') return undefined
  const saturatedMmolPerL = (1000 * solubility.gPerL) / molar.gPerMol
  let logarithm = 0
  let ions = 0
  for (const element of ELEMENTS) {
    const count = elements.molPerMol[element]
    if (count === undefined) continue
    const present = mmolPerL[element] ?? 0
    if (!(present > 0)) return undefined
    logarithm += count * Math.log(present / (count * saturatedMmolPerL))
    ions += count
  }
  const { gPerL: solubilityGPerL, tabulatedC, optimistic: isOptimistic } = solubility
  const share = Math.exp(logarithm / ions)
  return { solid: formula, share, ...limits(tabulatedC, coldestC), solubilityGPerL, tabulatedC, isOptimistic }
}

/** A figure of the salts file is for 20 °C. */
const FILE_C = 20

function shareOfMass(salt: TankSalt, factor: number, coldestC: number): SolubilityShare | undefined {
  const tabulated = salt.formula === undefined ? undefined : solubilityOf(salt.formula, coldestC)
  const known = tabulated?.kind === 'solubility' ? tabulated : undefined
  const solubilityGPerL = known?.gPerL ?? salt.solubilityAt20GPerL
  if (solubilityGPerL === undefined) return undefined
  const tabulatedC = known?.tabulatedC ?? FILE_C
  const share = (salt.gPerL * factor) / solubilityGPerL
  const isOptimistic = coldestC < tabulatedC
  const solid = salt.name
  return { solid, share, ...limits(tabulatedC, coldestC), solubilityGPerL, tabulatedC, isOptimistic }
}

function limits(tabulatedC: number, coldestC: number): { readonly shareMax: number; readonly shareEdge: number } {
  const shareEdge = (1 - LOSS_PER_DEGREE) ** Math.max(0, tabulatedC - coldestC)
  return { shareMax: SHARE_MAX * shareEdge, shareEdge }
}
