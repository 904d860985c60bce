/** Units as laboratories write them. */

import { wordsOf } from './word-list.ts'

export type LaboratoryUnit =
  | { readonly kind: 'mass'; readonly mgPerL: number; readonly form?: string }
  | { readonly kind: 'amount'; readonly mmolPerL: number; readonly form?: string }
  | { readonly kind: 'charge'; readonly meqPerL: number; readonly form?: string }
  | { readonly kind: 'conductivity'; readonly dsPerM: number }
  | { readonly kind: 'degree'; readonly meqPerL: number }
  | { readonly kind: 'ph' }
  /** of turbidity, temperature, voltage: known, and never of a concentration */
  | { readonly kind: 'other' }

/** For messages: what may be written. */
export const UNITS_SHOWN =
  'mg/L, ppm, ug/L, g/L, mmol/L, umol/L, meq/L, mg/L as CaCO3, °dH, and mS/cm, dS/m, uS/cm for conductivity'

const MASS: Readonly<Record<string, number>> = { mg: 1, ug: 0.001, g: 1000, ng: 1e-6 }
const AMOUNT: Readonly<Record<string, number>> = { mmol: 1, umol: 0.001, mol: 1000 }
const CHARGE: Readonly<Record<string, number>> = { meq: 1, me: 1, mval: 1, mmolc: 1, ueq: 0.001 }
/**
 * Degrees of hardness in 1 meq/L, which is 50.04 mg/L of CaCO3. German: 10 mg/L of CaO (DIN 38409-6, from memory); French:
 * 10 mg/L of CaCO3; English: a grain of CaCO3 in an imperial gallon, 14.25 mg/L.
 */
const DEGREES_PER_MEQ = { german: 2.804, french: 5.004, english: 3.511 }

const SHORT: Readonly<Record<string, LaboratoryUnit>> = {
  ppm: { kind: 'mass', mgPerL: 1 },
  ppb: { kind: 'mass', mgPerL: 0.001 },
  mm: { kind: 'amount', mmolPerL: 1 },
  um: { kind: 'amount', mmolPerL: 0.001 },
  'ms/cm': { kind: 'conductivity', dsPerM: 1 },
  'ds/m': { kind: 'conductivity', dsPerM: 1 },
  'us/cm': { kind: 'conductivity', dsPerM: 0.001 },
  'ms/m': { kind: 'conductivity', dsPerM: 0.01 },
  's/m': { kind: 'conductivity', dsPerM: 10 },
  'mmho/cm': { kind: 'conductivity', dsPerM: 1 },
  'mmhos/cm': { kind: 'conductivity', dsPerM: 1 },
  'umho/cm': { kind: 'conductivity', dsPerM: 0.001 },
  'umhos/cm': { kind: 'conductivity', dsPerM: 0.001 },
  '10^-5 s/cm': { kind: 'conductivity', dsPerM: 0.01 },
  'x10^-5 s/cm': { kind: 'conductivity', dsPerM: 0.01 },
  'g/m3': { kind: 'mass', mgPerL: 1 },
  'mg/m3': { kind: 'mass', mgPerL: 0.001 },
  ...alike(
    { kind: 'other' },
    `
    ntu, fnu, fnu/ntu, mv, °c, c, degc, deg c, grad c, lbs/acre-ft, lbs/acre-inch, lb/acre-inch, lb/acre-ft,
    lbs/acre, kg/ha, mg pt/l, cfu/100 ml, kbe/100 ml`,
  ),
  '°dh': { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.german },
  dh: { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.german },
  dkh: { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.german },
  '°f': { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.french },
  '°fh': { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.french },
  '°e': { kind: 'degree', meqPerL: 1 / DEGREES_PER_MEQ.english },
  ...alike(
    { kind: 'ph' },
    `
    ph, [ph], ph units, ph unit, s.u., su, unite ph, unites ph, ph-einheiten, ph-einheit, ud. ph, uds. ph,
    unidades ph, unidades de ph, unid. ph, unita ph, unita di ph, unidade de ph, jednostki ph, jedn. ph, escala sorensen, escala de sorensen,
    echelle sorensen, scala sorensen,
    ph-enheter, ph-eenheden, u. ph, std. units, standard units`,
  ),
}

function alike(unit: LaboratoryUnit, spellings: string): Readonly<Record<string, LaboratoryUnit>> {
  return Object.fromEntries(wordsOf(spellings).map((spelling) => [spelling, unit]))
}

/** What lives in water is counted: ‘MPN/100 mL’, ‘CFU/mL’. */
const COUNTED = /^(?:mpn|cfu|kbe|kve|ufc|jtk|npp|nmp|pfu) ?\/ ?(?:\d+ ?)?ml$/i

const FORM = '[A-Z][A-Za-z0-9]*(?:-[NPS])?'
const PER_LITRE = new RegExp(
  `^([a-z]+)(?: ?(${FORM}))? ?/ ?[lL](?: ?(?:(?:as|of|als|en|como|come|jako|som) )?(${FORM}))?$`,
)
const SHORT_WITH_FORM = new RegExp(`^(ppm|ppb)(?: ?(?:as )?(${FORM}))?$`)

/** Is this text a unit of concentration and no more? */
export function isConcentration(text: string): boolean {
  return ['mass', 'amount', 'charge'].includes(readUnit(text)?.kind ?? '')
}

/** The unit that a text names, or undefined. Micro signs, 'L-1' and 'dm3' are understood; case counts only in forms. */
export function readUnit(text: string): LaboratoryUnit | undefined {
  const plain = text
    .trim()
    .replace(/(?<=\/ ?c?m) ?(?:\(|at |@ ?|a |bei |bij |vid )? ?25 ?°? ?C\)?$/i, '')
    .replaceAll(/[µμ]/g, 'u')
    .replaceAll('é', 'e')
    .replaceAll('à', 'a')
    // a charge a mole: an equivalent
    .replace(/^mmol ?\([+-]\)/i, 'meq')
    .replace(/(?<=[lL] )\(([^()]+)\)$/, '$1')
    .replaceAll(/⁻¹|\^-1|(?<=[a-zA-Z])-1/g, '⁻')
    .replaceAll(/(?:[. ·]*)([lL]|dm3)⁻/g, '/L')
    .replaceAll(/(?:[. ·]*)(cm|m)⁻/g, '/$1')
    .replaceAll(/\/ ?(?:litre|liter|litro|dm3|dm³)/gi, '/L')
    .replace(/m³$/, 'm3')
  const short = SHORT[plain.toLowerCase()]
  if (short !== undefined) return short
  if (COUNTED.test(plain)) return { kind: 'other' }
  const match = PER_LITRE.exec(plain) ?? PER_LITRE.exec(lowerHead(plain))
  if (match !== null) return perLitre(match[1]!, match[2] ?? match[3])
  const parts = SHORT_WITH_FORM.exec(lowerHead(plain))
  if (parts === null) return undefined
  return { kind: 'mass', mgPerL: parts[1] === 'ppm' ? 1 : 0.001, ...withForm(parts[2]) }
}

function perLitre(head: string, form: string | undefined): LaboratoryUnit | undefined {
  const [mgPerL, mmolPerL, meqPerL] = [MASS[head], AMOUNT[head], CHARGE[head]]
  if (mgPerL !== undefined) return { kind: 'mass', mgPerL, ...withForm(form) }
  if (mmolPerL !== undefined) return { kind: 'amount', mmolPerL, ...withForm(form) }
  return meqPerL === undefined ? undefined : { kind: 'charge', meqPerL, ...withForm(form) }
}

/** 'MG/L' and 'PPM' are shouted, not meant otherwise. */
function lowerHead(text: string): string {
  return text.replace(/^[A-Za-z]+/, (head) => head.toLowerCase())
}

function withForm(form: string | undefined): { form?: string } {
  return form === undefined ? {} : { form }
}
