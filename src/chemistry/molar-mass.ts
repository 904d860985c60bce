// Atomic weights, and what a chemical formula says: its molar mass and the tracked elements it brings.
// Imports nothing but the list of elements, so that the simulated plant may share it.

import { ELEMENTS, type ElementName } from './element.ts'

/** IUPAC conventional atomic weights, g/mol (Si 28.085 from memory of the same table). */
export const ATOMIC_WEIGHT_G_PER_MOL = {
  H: 1.008,
  B: 10.81,
  C: 12.011,
  N: 14.007,
  O: 15.999,
  Na: 22.99,
  Mg: 24.305,
  Si: 28.085,
  P: 30.974,
  S: 32.06,
  Cl: 35.45,
  K: 39.098,
  Ca: 40.078,
  Mn: 54.938,
  Fe: 55.845,
  Cu: 63.546,
  Zn: 65.38,
  Mo: 95.95,
} as const

type AtomSymbol = keyof typeof ATOMIC_WEIGHT_G_PER_MOL

/** Molar mass of a tracked element, g/mol; both forms of nitrogen are counted as N. */
export const ELEMENT_MOLAR_MASS: Readonly<Record<ElementName, number>> = Object.fromEntries(
  ELEMENTS.map((name) => [name, weightOf(name.endsWith('-N') ? 'N' : name)]),
) as Record<ElementName, number>

/** mg/L of an element to mmol/L. */
export function toMmolPerL(name: ElementName, mgPerL: number): number {
  return mgPerL / ELEMENT_MOLAR_MASS[name]
}

/** mmol/L of an element to mg/L. */
export function toMgPerL(name: ElementName, mmolPerL: number): number {
  return mmolPerL * ELEMENT_MOLAR_MASS[name]
}

export type FormulaProblem = {
  readonly kind: 'bad-formula'
  readonly formula: string
  /** Where reading stopped, counted from 0. */
  readonly at: number
  readonly problem: string
}

export type Formula = {
  readonly kind: 'formula'
  readonly formula: string
  readonly molarMassGPerMol: number
  /** Atoms per formula unit, by chemical symbol. */
  readonly atoms: Readonly<Record<string, number>>
  /** Groups per formula unit; an atom inside a group is counted in `atoms` too. */
  readonly groups: Readonly<Record<Group, number>>
}

export type MolarMass = { readonly kind: 'molar-mass'; readonly gPerMol: number } | FormulaProblem

export type FormulaElements =
  | { readonly kind: 'elements'; readonly molPerMol: Readonly<Partial<Record<ElementName, number>>> }
  | FormulaProblem

/** The groups that decide in which form an element arrives. ClO stands for every oxide of chlorine. */
const GROUPS = ['NO3', 'NH4', 'SO4', 'PO4', 'CO3', 'ClO'] as const
type Group = (typeof GROUPS)[number]

/**
 * Molar mass of a formula such as 'Ca(NO3)2.4H2O' or '5Ca(NO3)2.NH4NO3.10H2O', g/mol.
 *
 * @param formula symbols, counts and round brackets; parts of a hydrate or double salt joined by '.', '*' or '·'
 * @returns { kind: 'molar-mass', gPerMol }, or { kind: 'bad-formula', at, problem }
 */
export function molarMassGPerMol(formula: string): MolarMass {
  const read = readFormula(formula)
  return read.kind === 'formula' ? { kind: 'molar-mass', gPerMol: read.molarMassGPerMol } : read
}

/**
 * The tracked elements in a formula, mol per mol.
 *
 * @returns { kind: 'elements', molPerMol }, or { kind: 'bad-formula' } when the formula cannot be read or when it
 *   holds nitrogen, sulfur, phosphorus, chlorine or carbon in a form that plants or this chemistry cannot count as
 *   nitrate, ammonium, sulfate, phosphate, chloride or carbonate: urea, sulfite, phosphite, hypochlorite, organics.
 */
export function formulaElements(formula: string): FormulaElements {
  const read = readFormula(formula)
  if (read.kind !== 'formula') return read
  const strange = strangeForm(read)
  if (strange !== undefined) return { kind: 'bad-formula', formula, at: 0, problem: strange }
  const counts = { ...read.atoms, 'NO3-N': read.groups.NO3, 'NH4-N': read.groups.NH4 } as Record<string, number>
  const present = ELEMENTS.filter((name) => (counts[name] ?? 0) > 0)
  return { kind: 'elements', molPerMol: Object.fromEntries(present.map((name) => [name, counts[name]])) }
}

/** Reads a formula into atoms and groups per formula unit. */
export function readFormula(formula: string): Formula | FormulaProblem {
  const text = formula.replaceAll(/[·*]/g, '.')
  const tally: Tally = { atoms: {}, groups: { NO3: 0, NH4: 0, SO4: 0, PO4: 0, CO3: 0, ClO: 0 } }
  let start = 0
  for (const part of text.split('.')) {
    const multiplier = /^\d*/.exec(part)![0]
    const trouble = readPart(part.slice(multiplier.length), multiplier === '' ? 1 : Number(multiplier), tally)
    if (trouble !== undefined) {
      return { kind: 'bad-formula', formula, at: start + multiplier.length + trouble.at, problem: trouble.problem }
    }
    start += part.length + 1
  }
  const symbols = Object.entries(tally.atoms)
  const molarMassGPerMol = symbols.reduce((sum, [symbol, n]) => sum + n * weightOf(symbol), 0)
  return { kind: 'formula', formula, molarMassGPerMol, ...tally }
}

function weightOf(symbol: string): number {
  return ATOMIC_WEIGHT_G_PER_MOL[symbol as AtomSymbol]
}

type Tally = { atoms: Record<string, number>; groups: Record<Group, number> }
type Trouble = { readonly at: number; readonly problem: string }

/** Adds one dot-free part, `times` over, to the tally. Brackets may nest. */
function readPart(part: string, times: number, tally: Tally): Trouble | undefined {
  if (part === '') return { at: 0, problem: 'a part of the formula is empty' }
  if (times === 0) return { at: 0, problem: 'a count of 0 means nothing' }
  const scales = [times]
  const closings = closingCounts(part)
  if ('problem' in closings) return closings
  for (let at = 0; at < part.length; ) {
    const bracket = /^(?:\(|\)\d*)/.exec(part.slice(at))?.[0]
    if (bracket === '(') scales.push(scales.at(-1)! * closings.countAt.get(at)!)
    else if (bracket !== undefined) scales.pop()
    if (bracket !== undefined) {
      at += bracket.length
      continue
    }
    const atom = readAtom(part, at)
    if ('problem' in atom) return atom
    const scale = scales.at(-1)!
    tally.atoms[atom.symbol] = (tally.atoms[atom.symbol] ?? 0) + atom.count * scale
    const group = GROUPS.find((name) => part.startsWith(name, at) && endsGroup(part, at, name))
    if (group !== undefined) tally.groups[group] += scale
    at += atom.length
  }
  return undefined
}

/** 'NO3' must not be the start of 'NO32', and 'ClO' is an oxide of chlorine whatever follows. */
function endsGroup(part: string, at: number, name: Group): boolean {
  const next = part[at + name.length] ?? ''
  return name === 'ClO' ? !/[a-z]/.test(next) : !/\d/.test(next)
}

function readAtom(part: string, at: number): { symbol: string; count: number; length: number } | Trouble {
  const match = /^([A-Z][a-z]?)(\d*)/.exec(part.slice(at))
  if (match === null) return { at, problem: `'${part[at]}' is not a chemical symbol, a count or a bracket` }
  const [whole, symbol, digits] = match as unknown as [string, string, string]
  if (!Object.hasOwn(ATOMIC_WEIGHT_G_PER_MOL, symbol))
    return { at, problem: `'${symbol}' is not an element known here` }
  if (digits.startsWith('0')) return { at, problem: 'a count may not begin with 0' }
  return { symbol, count: digits === '' ? 1 : Number(digits), length: whole.length }
}

/** For every opening bracket the count written after its closing one. */
function closingCounts(part: string): { countAt: Map<number, number> } | Trouble {
  const countAt = new Map<number, number>()
  const open: number[] = []
  for (const match of part.matchAll(/\(|\)(\d*)/g)) {
    if (match[0] === '(') {
      open.push(match.index)
      continue
    }
    const from = open.pop()
    if (from === undefined) return { at: match.index, problem: 'this bracket was never opened' }
    if (match.index === from + 1) return { at: from, problem: 'these brackets hold nothing' }
    if (match[1]!.startsWith('0')) return { at: match.index, problem: 'a count may not begin with 0' }
    countAt.set(from, match[1] === '' ? 1 : Number(match[1]))
  }
  const left = open.pop()
  return left === undefined ? { countAt } : { at: left, problem: 'this bracket is never closed' }
}

function strangeForm({ atoms, groups, formula }: Formula): string | undefined {
  const of = (symbol: string) => atoms[symbol] ?? 0
  if (of('N') !== groups.NO3 + groups.NH4) {
    return `${formula} holds nitrogen that is neither nitrate (NO3) nor ammonium (NH4); such nitrogen, urea for one, is not tracked`
  }
  if (of('S') !== groups.SO4) return `${formula} holds sulfur that is not sulfate (SO4)`
  if (of('P') !== groups.PO4) return `${formula} holds phosphorus that is not phosphate (PO4)`
  if (of('C') !== groups.CO3) {
    return `${formula} holds carbon that is not carbonate (CO3); give a chelate or organic product by its label analysis`
  }
  return groups.ClO > 0 ? `${formula} holds chlorine bound to oxygen, which is not chloride` : undefined
}
