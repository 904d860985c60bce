/** What the names on a report mean: an element in a form, conductivity, pH, alkalinity, or nothing tracked here. */

import type { ElementName } from '../../chemistry/element.ts'
import { type AlkalinityForm, type ElementForm, elementOf, FORMS, isElementForm } from '../../chemistry/form.ts'
import { type LaboratoryUnit, readUnit } from './unit.ts'

export type Analyte =
  /** the name says the form too */
  | { readonly kind: 'form'; readonly form: ElementForm }
  /** the name says the element and leaves the form open: 'Nitrate' may be NO3 or NO3-N */
  | { readonly kind: 'open'; readonly element: ElementName; readonly forms: readonly ElementForm[] }
  | { readonly kind: 'alkalinity'; readonly form?: AlkalinityForm }
  | { readonly kind: 'conductivity' }
  | { readonly kind: 'ph' }
  | { readonly kind: 'untracked'; readonly why: string }

export interface AnalyteReading {
  readonly analyte: Analyte | undefined
  /** the unit that stands in the name, as in 'Ca (mg/L)' */
  readonly unit?: LaboratoryUnit
  /** a form that stands in the name, as in 'Nitrate as N' */
  readonly asForm?: string
}

const OPEN = {
  nitrate: { kind: 'open', element: 'NO3-N', forms: ['NO3-N', 'NO3'] },
  ammonium: { kind: 'open', element: 'NH4-N', forms: ['NH4-N', 'NH4'] },
  phosphate: { kind: 'open', element: 'P', forms: ['P', 'PO4', 'P2O5'] },
  sulfate: { kind: 'open', element: 'S', forms: ['S', 'SO4'] },
} as const satisfies Record<string, Analyte>

/** Names in lower case without charges, blanks around dashes and qualifiers such as 'total'. */
const NAMES: Readonly<Record<string, readonly string[]>> = {
  'NO3-N': ['no3-n', 'no3n', 'n-no3', 'nitrate-n', 'nitrate nitrogen', 'nitrate-nitrogen', 'nitrogen nitrate'],
  NO3: ['no3'],
  'NH4-N': [
    'nh4-n',
    'nh4n',
    'n-nh4',
    'ammonium-n',
    'ammonium nitrogen',
    'ammonium-nitrogen',
    'ammonia-n',
    'ammonia nitrogen',
    'ammonia-nitrogen',
    'nh3-n',
    'nitrogen ammonium',
  ],
  NH4: ['nh4'],
  P: ['p', 'phosphorus', 'phosphorous', 'po4-p', 'p-po4', 'phosphate-p', 'orthophosphate-p', 'phosphate phosphorus'],
  PO4: ['po4'],
  P2O5: ['p2o5'],
  K: ['k', 'potassium', 'kalium'],
  K2O: ['k2o', 'potash'],
  Ca: ['ca', 'calcium'],
  CaO: ['cao'],
  Mg: ['mg', 'magnesium'],
  MgO: ['mgo'],
  S: ['s', 'sulfur', 'sulphur', 'so4-s', 's-so4', 'sulfate-s', 'sulphate-s', 'sulfate sulfur', 'sulphate sulphur'],
  SO4: ['so4'],
  SO3: ['so3'],
  Na: ['na', 'sodium', 'natrium'],
  Cl: ['cl', 'chloride', 'chlorides'],
  Fe: ['fe', 'iron'],
  Mn: ['mn', 'manganese'],
  Zn: ['zn', 'zinc'],
  B: ['b', 'boron'],
  Cu: ['cu', 'copper'],
  Mo: ['mo', 'molybdenum'],
  nitrate: ['nitrate', 'nitrates'],
  ammonium: ['ammonium', 'ammonia'],
  phosphate: ['phosphate', 'phosphates', 'orthophosphate', 'ortho-phosphate'],
  sulfate: ['sulfate', 'sulphate', 'sulfates', 'sulphates'],
  alkalinity: ['alkalinity', 'm-alkalinity', 'alk', 'alkalinity to ph 4.5'],
  HCO3: ['hco3', 'bicarbonate', 'bicarbonates', 'hydrogen carbonate', 'hydrogencarbonate'],
  conductivity: [
    'ec',
    'e.c.',
    'ec25',
    'ec 25',
    'conductivity',
    'electrical conductivity',
    'electric conductivity',
    'specific conductance',
    'conductance',
    'cond',
    'cond.',
  ],
  ph: ['ph', 'ph value'],
}

/** Known and left aside. Everything that is neither here nor above is refused, so that nothing is lost by a typo. */
const UNTRACKED: Readonly<Record<string, string>> = {
  ...sameReason('not tracked here', [
    'al',
    'aluminium',
    'aluminum',
    'ni',
    'nickel',
    'si',
    'silicon',
    'sio2',
    'silica',
    'silicate',
    'f',
    'fluoride',
    'co',
    'cobalt',
    'se',
    'selenium',
    'pb',
    'lead',
    'cd',
    'cadmium',
    'cr',
    'chromium',
    'as',
    'arsenic',
    'hg',
    'mercury',
    'ba',
    'barium',
    'sr',
    'strontium',
    'li',
    'lithium',
    'v',
    'vanadium',
    'ti',
    'titanium',
    'br',
    'bromide',
    'i',
    'iodide',
    'iodine',
    'no2',
    'no2-n',
    'nitrite',
    'nitrite-n',
    'co3',
    'carbonate',
    'carbonates',
    'toc',
    'doc',
    'turbidity',
    'colour',
    'color',
    'orp',
    'redox',
    'dissolved oxygen',
    'temperature',
    'chlorine',
    'cod',
    'bod',
  ]),
  ...sameReason('nitrogen in all is not split into its forms', [
    'n',
    'nitrogen',
    'tn',
    'tkn',
    'kjeldahl nitrogen',
    'inorganic nitrogen',
    'urea',
    'urea-n',
    'organic nitrogen',
  ]),
  ...sameReason('follows from other values', [
    'hardness',
    'total hardness',
    'caco3 hardness',
    'calcium hardness',
    'magnesium hardness',
    'sar',
    'tds',
    'dissolved solids',
    'total dissolved solids',
    'soluble salts',
    'ss',
    'cation sum',
    'anion sum',
    'cations',
    'anions',
    'sum of cations',
    'sum of anions',
    'ion balance',
    'charge balance',
    'osmotic pressure',
    'n/k',
    'k/ca',
    'ca/mg',
    'carbon dioxide',
    'co2',
  ]),
}

function sameReason(why: string, names: readonly string[]): Record<string, string> {
  return Object.fromEntries(names.map((name) => [name, why]))
}

const MEANING = new Map(Object.entries(NAMES).flatMap(([key, names]) => names.map((name) => [name, key] as const)))

/** For messages: names that are understood. */
export const ANALYTES_SHOWN = `EC, pH, alkalinity, ${FORMS.join(', ')}`

/** Reads a name such as 'NO3-N', 'Nitrate as N (mg/L)', 'Ca2+', 'Potassium, total [ppm]'. */
export function readAnalyte(text: string): AnalyteReading {
  const { name, unit, asForm } = takeApart(text)
  return {
    analyte: meaningOf(name),
    ...(unit === undefined ? {} : { unit }),
    ...(asForm === undefined ? {} : { asForm }),
  }
}

function meaningOf(name: string): Analyte | undefined {
  const key = keyOf(name)
  const why = Object.hasOwn(UNTRACKED, name) ? UNTRACKED[name] : undefined
  if (key === undefined) return why === undefined ? undefined : { kind: 'untracked', why }
  if (isElementForm(key)) return { kind: 'form', form: key }
  if (Object.hasOwn(OPEN, key)) return OPEN[key as keyof typeof OPEN]
  if (key === 'HCO3') return { kind: 'alkalinity', form: 'HCO3' }
  return { kind: key as 'alkalinity' | 'conductivity' | 'ph' }
}

const QUALIFIER =
  /\b(?:total|dissolved|soluble|filtered|available|icp|ic|in water|titratable|at 25 ?°?c|25 ?°?c|@ ?25 ?°?c|ion)\b/g

function takeApart(text: string): { name: string; unit?: LaboratoryUnit; asForm?: string } {
  let rest = plainText(text)
  let unit: LaboratoryUnit | undefined
  let asForm: string | undefined
  rest = rest.replaceAll(/[([]([^)\]]*)[)\]]/g, (whole, inside: string) => {
    const asked = /^(?:as|of) (.+)$/.exec(inside.trim())?.[1] ?? inside.trim()
    if (readUnit(inside) !== undefined) unit ??= readUnit(inside)
    else if (isFormText(asked)) asForm ??= asked
    else return ` ${inside} `
    return whole === '' ? '' : ' '
  })
  const split = trailingUnit(rest)
  if (split !== undefined) [rest, unit] = [split.rest, unit ?? split.unit]
  const as = /^(.*?)[, ]+as ([A-Za-z0-9-]+)\s*$/.exec(rest.trim())
  if (as !== null) [rest, asForm] = [as[1]!, asForm ?? as[2]]
  const name = rest.toLowerCase().replaceAll(QUALIFIER, ' ').replaceAll(/[,:]/g, ' ').replaceAll(/\s+/g, ' ').trim()
  return { name, ...(unit === undefined ? {} : { unit }), ...(asForm === undefined ? {} : { asForm }) }
}

/** Subscripts and superscript charges off, dashes alike: 'SO₄²⁻' and 'NO3 – N' become 'SO4' and 'NO3-N'. */
function plainText(text: string): string {
  return text
    .replaceAll(/[₀-₉]/g, (digit) => String(digit.charCodeAt(0) - 0x2080))
    .replaceAll(/[²³]?[⁺⁻](?!¹)/g, '')
    .replaceAll(/[–—−]/g, '-')
    .replaceAll('_', ' ')
    .replaceAll(/ ?- ?(?=[NPS]\b)/g, '-')
}

/** The key of a name, with or without a charge at its end: 'no3-' is no3, but 'ca2+', 'ca+2' and 'so4 2-' lose the digit. */
function keyOf(name: string): string | undefined {
  const unsigned = [/\s*[+-]+$/, /\s*\^?\d?[+-]+\d?$/].map((charge) => name.replace(charge, ''))
  return [name, ...unsigned].map((candidate) => MEANING.get(candidate)).find((key) => key !== undefined)
}

function isFormText(text: string): boolean {
  return /^(?:N|NO3-N|NH4-N|PO4-P|SO4-S)$/.test(text) || (FORMS as readonly string[]).includes(text)
}

/** 'Ca mg/L', 'Ca, mg/L', 'EC mS/cm': the longest ending that is a unit. */
function trailingUnit(text: string): { rest: string; unit: LaboratoryUnit } | undefined {
  for (const match of text.matchAll(/[ ,;]+/g)) {
    const unit = readUnit(text.slice(match.index + match[0].length))
    // a name that is itself spelled like a unit ('pH', 'Mm') has nothing before it
    if (unit !== undefined && match.index > 0) return { rest: text.slice(0, match.index), unit }
  }
  return undefined
}

/** The form meant by 'as N', 'as NO3', 'as P2O5' for an element, or undefined where that cannot be. */
export function formOf(element: ElementName, asked: string): ElementForm | undefined {
  const spelled = asked === 'N' ? (element === 'NO3-N' || element === 'NH4-N' ? element : asked) : asked
  const plain = spelled === 'PO4-P' ? 'P' : spelled === 'SO4-S' ? 'S' : spelled
  return isElementForm(plain) && elementOf(plain) === element ? plain : undefined
}
