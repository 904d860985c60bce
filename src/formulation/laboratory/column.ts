/** The headings of columns, and of the lines above a table, that are no analytes. */

import { withoutAccents } from './analyte.ts'
import { readUnit } from './unit.ts'

export type ColumnRole = 'analyte' | 'form' | 'value' | 'unit' | 'sample' | 'sampled' | 'limit' | 'qualifier' | 'aside'

const NAMES: Readonly<Record<ColumnRole, readonly string[]>> = {
  analyte: [
    'analyte',
    'parameter',
    'element',
    'determinand',
    'test',
    'determination',
    'nutrient',
    'component',
    'substance',
    'analysis',
    'ion',
    'analyt',
    'parametre',
    'parametro',
    'bestimmung',
    'determinacion',
    'bepaling',
    'analyse',
    'constituent',
    'compound',
    'messgrosse',
    'messgroesse',
    'prufparameter',
    'parametres',
    'parametros',
    'onderdeel',
  ],
  form: [
    'form',
    'symbol',
    'formula',
    'expressed as',
    'reported as',
    'basis',
    'chemical form',
    'angabe als',
    'exprime en',
    'expresado como',
  ],
  value: [
    'value',
    'result',
    'results',
    'reading',
    'concentration',
    'measured',
    'measured value',
    'amount',
    'wert',
    'messwert',
    'ergebnis',
    'resultat',
    'resultado',
    'risultato',
    'valeur',
    'valor',
    'gevonden',
    'resultaat',
    'gemeten',
    'gemessen',
    'mesure',
    'medido',
    'final result',
    'reported result',
  ],
  unit: [
    'unit',
    'units',
    'uom',
    'einheit',
    'unite',
    'unites',
    'unidad',
    'unidades',
    'unita',
    'eenheid',
    'result unit',
    'result units',
  ],
  sample: [
    'sample',
    'sample id',
    'sample name',
    'sample label',
    'sample description',
    'sample no',
    'sample no.',
    'sample number',
    'label',
    'client id',
    'client sample id',
    'client sample',
    'client label',
    'field id',
    'sample point',
    'probenname',
    'entnahmestelle',
    'reference echantillon',
    'nom echantillon',
    'monsteromschrijving',
    'monsternaam',
    'omschrijving',
    'bottle',
    'description',
    'location',
    'sampling point',
    'probe',
    'probenbezeichnung',
    'echantillon',
    'muestra',
    'campione',
    'monster',
  ],
  sampled: [
    'sampled',
    'sampled at',
    'sampled on',
    'date sampled',
    'sample date',
    'sampling date',
    'collected',
    'date collected',
    'collection date',
    'collected on',
    'sampling time',
    'taken',
    'date taken',
    'collect date',
    'sampling date and time',
    'bemonsterd',
    'bemonsterd op',
    'probenahme',
    'probenahme am',
    'probenahmedatum',
    'prelevement',
    'date de prelevement',
    'preleve le',
    'fecha de muestreo',
    'muestreo',
    'data di prelievo',
    'monsterdatum',
    'datum monstername',
  ],
  limit: [
    'lod',
    'loq',
    'mdl',
    'rl',
    'pql',
    'dl',
    'detection limit',
    'reporting limit',
    'limit of detection',
    'limit of quantification',
    'limit of quantitation',
    'quantification limit',
    'bestimmungsgrenze',
    'nachweisgrenze',
    'limite de quantification',
    'limite de detection',
    'limite de deteccion',
    'detectiegrens',
    'rapportagegrens',
    'limite de cuantificacion',
  ],
  qualifier: [
    'qualifier',
    'qualifiers',
    'qual',
    'flag',
    'flags',
    'sign',
    'operator',
    'modifier',
    'prefix',
    'lab qualifier',
  ],
  aside: [
    'lab id',
    'lab no',
    'lab no.',
    'lab number',
    'laboratory id',
    'laboratory',
    'lab',
    'report',
    'report no',
    'report no.',
    'report number',
    'order',
    'order no',
    'method',
    'test method',
    'comment',
    'comments',
    'remark',
    'remarks',
    'note',
    'notes',
    'uncertainty',
    'uncertainty (k=2)',
    'messunsicherheit',
    'incertitude',
    'incertidumbre',
    'meetonzekerheid',
    'analyst',
    'cas',
    'cas no',
    'category',
    'group',
    'matrix',
    'sample type',
    'received',
    'date received',
    'reported',
    'date reported',
    'report date',
    'date analysed',
    'date analyzed',
    'analysed',
    'analyzed',
    'target',
    'optimum',
    'guide',
    'guideline',
    'low',
    'high',
    'range',
    'rating',
    'client',
    'customer',
    'grower',
    'crop',
    'sampled by',
    'accreditation',
    'received at',
    'received on',
    'reported at',
    'reported on',
    'methode',
    'metodo',
    'labor',
    'laboratoire',
    'laboratorio',
    'bemerkung',
    'bemerkungen',
    'remarque',
    'observaciones',
    'opmerking',
    ...[
      'lab ref',
      'lab ref.',
      'lab sample id',
      'labornummer',
      'laborprobennummer',
      'monsternummer',
      'test code',
      'code',
    ],
    ...['verfahren', 'prufverfahren', 'norm', 'methodik', 'accredited', 'akkreditiert'],
    ...[
      'collect time',
      'time sampled',
      'time collected',
      'collection time',
      'received date',
      'analysis date',
      'prep date',
    ],
    ...[
      'dilution',
      'dilution factor',
      'analysis time',
      'cas number',
      'no. of samples',
      'number of samples',
      'source',
      'major source',
    ],
    ...['medium', 'very low', 'very high', 'deficient', 'sufficient', 'excess', 'interpretation', 'class', 'status'],
  ],
}

const ROLES = new Map(
  Object.entries(NAMES).flatMap(([role, names]) => names.map((name) => [name, role as ColumnRole] as const)),
)

/** For messages: what a heading may be for. */
export const ROLES_SHOWN = Object.keys(NAMES).join(', ')

/** Is this text one of the roles? */
export function isColumnRole(text: string): text is ColumnRole {
  return Object.hasOwn(NAMES, text)
}

/**
 * What people compare a result with, and no result: 'Target range', 'Streefwaarde', 'Regulatory limit (ppm)'. Whole
 * headings only, since a bottle may be called 'last row' or 'normal feed'.
 */
const COMPARED_WITH =
  /^(?:target|optimum|optimal|optimo|guide|guideline|normal|sufficiency|recommended|desired|reference|regulatory|legal|permitted|maximum permitted|highest level allowed|previous|vorige|vorherige|anterior)(?: (?:values?|levels?|ranges?|limits?|results?|reports?|analys[ei]s?))+$|^(?:target|optimum|optimal|highest level allowed)$/
const COMPARED_WITH_ONE_WORD =
  /^(?:(?:grenz|richt|soll|ziel|norm|streef|orientierungs)(?:wert|werte|waarde|waarden|bereich)|optimalbereich|valeur guide|valeur limite|valor guia|valor limite|mcl|mclg)$/

/** What a column is for by its heading, or undefined: then it is an analyte, a sample, or unknown. */
export function columnRole(heading: string): ColumnRole | undefined {
  const name = lookedUp(heading)
  const whole = ROLES.get(name)
  if (whole !== undefined) return whole
  const bare = withoutBracket(name)
  if (isComparison(bare)) return 'aside'
  if (bare === name) return undefined
  const role = ROLES.get(bare)
  // 'Result (as CaCO3)' says more than that it is the result, and may not be lost
  if (role === 'value') return unitInHeading(heading) === undefined ? undefined : role
  return role === 'aside' ? role : undefined
}

/** The unit that stands in the heading of a column of results: ‘Result (ppm)’, ‘Messwert [mg/l]’. */
export function unitInHeading(heading: string): string | undefined {
  const inside = /[([]([^)\]]*)[)\]]\s*$/.exec(heading)?.[1]
  return inside !== undefined && readUnit(inside) !== undefined ? inside : undefined
}

function isComparison(name: string): boolean {
  return /^(?:%|percent )/.test(name) || COMPARED_WITH.test(name) || COMPARED_WITH_ONE_WORD.test(name)
}

function withoutBracket(name: string): string {
  return name.replace(/\s*[([][^)\]]*[)\]]$/, '')
}

/** 'ClientSampleID' and 'client_sample_id' are 'client sample id'. */
function lookedUp(heading: string): string {
  return withoutAccents(heading)
    .replaceAll(/(?<=[a-z])(?=[A-Z])/g, ' ')
    .toLowerCase()
    .replaceAll('_', ' ')
    .replace(/:$/, '')
    .replaceAll(/\s+/g, ' ')
    .trim()
}
