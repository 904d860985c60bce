// How much of a salt a stock tank can hold, and what may stand in one tank.

import type { Composition } from './element.ts'

/** How a value is known: seen in a source, seen quoted, or from memory of a handbook or of practice. */
export type Evidence = 'seen' | 'quoted' | 'from memory'

type Row = {
  readonly evidence: Evidence
  readonly gPerLAtC: readonly (readonly [temperatureC: number, gPerL: number])[]
}

/**
 * Solubility by formula, g/L, at rising temperatures. Where sources differ the lower one stands. KNO3: the tables in
 * use disagree by one row (209 or 316 g/L at 20 °C); the lower, 133, 170, 209, 316 at 5, 10, 20, 25 °C, is kept,
 * since a stock that crystallises blocks its line. Chelates are not salts of one formula and are left to their label.
 */
const TABLE: Readonly<Record<string, Row>> = {
  'Ca(NO3)2.4H2O': { evidence: 'quoted', gPerLAtC: [[20, 1290]] },
  '5Ca(NO3)2.NH4NO3.10H2O': { evidence: 'from memory', gPerLAtC: [[20, 1200]] },
  KNO3: {
    evidence: 'quoted',
    gPerLAtC: [
      [5, 133],
      [10, 170],
      [20, 209],
      [25, 316],
    ],
  },
  KH2PO4: { evidence: 'from memory', gPerLAtC: [[20, 226]] },
  NH4H2PO4: { evidence: 'quoted', gPerLAtC: [[20, 374]] },
  'MgSO4.7H2O': { evidence: 'from memory', gPerLAtC: [[20, 710]] },
  'Mg(NO3)2.6H2O': { evidence: 'quoted', gPerLAtC: [[20, 690]] },
  K2SO4: {
    evidence: 'quoted',
    gPerLAtC: [
      [10, 90],
      [20, 111],
    ],
  },
  NH4NO3: { evidence: 'quoted', gPerLAtC: [[20, 1920]] },
  '(NH4)2SO4': { evidence: 'quoted', gPerLAtC: [[20, 750]] },
  KCl: { evidence: 'quoted', gPerLAtC: [[20, 255]] },
  'CaCl2.2H2O': { evidence: 'from memory', gPerLAtC: [[20, 980]] },
  'MnSO4.H2O': { evidence: 'from memory', gPerLAtC: [[20, 600]] },
  'ZnSO4.7H2O': { evidence: 'from memory', gPerLAtC: [[20, 960]] },
  'CuSO4.5H2O': { evidence: 'from memory', gPerLAtC: [[20, 317]] },
  H3BO3: { evidence: 'from memory', gPerLAtC: [[20, 47]] },
  'Na2B4O7.10H2O': { evidence: 'from memory', gPerLAtC: [[20, 47]] },
  'Na2MoO4.2H2O': { evidence: 'from memory', gPerLAtC: [[20, 840]] },
}

export const SOLUBILITY_FORMULAS: readonly string[] = Object.keys(TABLE)

export type Solubility =
  | {
      readonly kind: 'solubility'
      readonly gPerL: number
      readonly evidence: Evidence
      /** The temperature the figure is for: the one asked, or the nearest the table has. */
      readonly tabulatedC: number
      /** True when the tank is colder than any figure known, so that less than gPerL dissolves. */
      readonly optimistic: boolean
    }
  | { readonly kind: 'unknown-salt'; readonly formula: string }

/**
 * Solubility of one salt alone in water, g per litre, linear between tabulated temperatures.
 *
 * Salts that share an ion dissolve less than this together; keep a stock below 80 % of it at the coldest night.
 *
 * @param temperatureC of the tank at its coldest
 * @returns { kind: 'solubility', ... }; warmer than the table gives the warmest figure, colder gives the coldest one
 *   and `optimistic: true`; { kind: 'unknown-salt' } for a formula without a row
 */
export function solubilityOf(formula: string, temperatureC: number): Solubility {
  const row = Object.hasOwn(TABLE, formula) ? TABLE[formula] : undefined
  if (row === undefined) return { kind: 'unknown-salt', formula }
  const above = row.gPerLAtC.findIndex(([c]) => c >= temperatureC)
  const upper = row.gPerLAtC.at(above === -1 ? -1 : above)!
  const lower = above > 0 ? row.gPerLAtC[above - 1]! : upper
  const span = upper[0] - lower[0]
  const share = span === 0 ? 0 : (temperatureC - lower[0]) / span
  return {
    kind: 'solubility',
    gPerL: lower[1] + share * (upper[1] - lower[1]),
    evidence: row.evidence,
    tabulatedC: span === 0 ? upper[0] : temperatureC,
    optimistic: temperatureC < row.gPerLAtC[0]![0],
  }
}

/** Something that may be put in a stock tank: amounts per gram, millilitre or litre, only their presence matters. */
export type TankItem = {
  readonly name: string
  readonly mmol: Composition
  readonly nature: 'salt' | 'iron chelate' | 'acid'
}

export type TankRule = 'calcium-sulfate' | 'calcium-phosphate' | 'magnesium-ammonium-phosphate' | 'chelate-acid'

export type TankVerdict =
  | { readonly kind: 'may-share' }
  | { readonly kind: 'keep-apart'; readonly rule: TankRule; readonly between: readonly string[]; readonly why: string }

const WHY: Readonly<Record<TankRule, string>> = {
  'calcium-sulfate': 'in a concentrate calcium and sulfate form gypsum, which settles and blocks lines',
  'calcium-phosphate': 'in a concentrate calcium and phosphate form calcium phosphate, which settles and blocks lines',
  'magnesium-ammonium-phosphate':
    'in a concentrate magnesium, ammonium and phosphate can form struvite, which settles and blocks lines',
  'chelate-acid': 'acid breaks an iron chelate, and the iron is lost to the crop',
}

/**
 * May these stand together in one concentrated stock? Only the trade's fixed rules: calcium never with sulfate or
 * phosphate, magnesium never with ammonium phosphate, iron chelate never with acid. Labels and local codes go first.
 *
 * @returns { kind: 'may-share' }, or the first rule broken with the names of the items that break it
 */
export function mayShareTank(items: readonly TankItem[]): TankVerdict {
  const holding = (element: keyof Composition) => items.filter(({ mmol }) => (mmol[element] ?? 0) > 0)
  const calcium = holding('Ca')
  const ammoniumPhosphate = holding('P').filter(({ mmol }) => (mmol['NH4-N'] ?? 0) > 0)
  const nature = (kind: TankItem['nature']) => items.filter((item) => item.nature === kind)
  const clashes: readonly (readonly [TankRule, readonly TankItem[], readonly TankItem[]])[] = [
    ['calcium-sulfate', calcium, holding('S')],
    ['calcium-phosphate', calcium, holding('P')],
    ['magnesium-ammonium-phosphate', holding('Mg'), ammoniumPhosphate],
    ['chelate-acid', nature('iron chelate'), nature('acid')],
  ]
  for (const [rule, these, those] of clashes) {
    if (these.length === 0 || those.length === 0) continue
    const between = [...new Set([...these, ...those].map(({ name }) => name))]
    return { kind: 'keep-apart', rule, between, why: WHY[rule] }
  }
  return { kind: 'may-share' }
}
