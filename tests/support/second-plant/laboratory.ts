import type { LaboratoryResult, LaboratoryValue } from '../../../src/reservoir/input.ts'
import type { Chance } from './chance.ts'
import { toMgPerL } from './ion.ts'
import type { Water } from './reservoir.ts'

/** Relative standard deviation and detection limit in mg/L of each analyte (judgement: an ordinary service laboratory). */
const METHODS: Readonly<Record<string, readonly [sd: number, limitMgPerL: number]>> = {
  'NO3-N': [0.03, 0.5],
  'NH4-N': [0.06, 0.1],
  P: [0.03, 0.1],
  K: [0.03, 0.2],
  Ca: [0.03, 0.2],
  Mg: [0.03, 0.1],
  S: [0.04, 0.5],
  Na: [0.03, 0.2],
  Cl: [0.04, 1],
  Fe: [0.04, 0.02],
  Mn: [0.05, 0.01],
  Zn: [0.05, 0.01],
  B: [0.06, 0.02],
  Cu: [0.08, 0.01],
  Mo: [0.1, 0.01],
}

/** A bottle of this water, analysed: each figure with the laboratory’s own error, small ones as “below”. */
export function analyse(water: Water, sampledAtMs: number, chance: Chance): LaboratoryResult {
  const values: LaboratoryValue[] = Object.entries(toMgPerL(water.mmolPerL)).map(([element, mgPerL]) => {
    const [sd, limitMgPerL] = METHODS[element]!
    const found = mgPerL * (1 + chance.normal(sd))
    if (found < limitMgPerL) return { element, belowMgPerL: limitMgPerL }
    return { element, mgPerL: Number(found.toPrecision(4)), sdMgPerL: Number((found * sd).toPrecision(2)) }
  })
  return {
    id: `bottle-${stamp(sampledAtMs)}`,
    sampledAtMs,
    values,
    conductivityDsPerM: Number((water.mSPerCm * (1 + chance.normal(0.01))).toFixed(3)),
    ph: Number((water.acidity.ph + chance.normal(0.04)).toFixed(2)),
  }
}

/** The report as the laboratory sends it: one analyte a line, and its file name, which tells when the bottle was filled. */
export function writeReport(result: LaboratoryResult): { fileName: string; text: string } {
  const sampled = new Date(result.sampledAtMs).toISOString()
  const rows = result.values.map((value) =>
    'mgPerL' in value
      ? [value.element, String(value.mgPerL), 'mg/L']
      : [value.element, `<${value.belowMgPerL}`, 'mg/L'],
  )
  if (result.conductivityDsPerM !== undefined) rows.push(['EC', String(result.conductivityDsPerM), 'mS/cm'])
  if (result.ph !== undefined) rows.push(['pH', String(result.ph), ''])
  const lines = rows.map((row) => [result.id, sampled, ...row].join(','))
  const text = `${['sample,sampled,analyte,result,unit', ...lines].join('\n')}\n`
  return { fileName: `laboratory-${stamp(result.sampledAtMs)}.csv`, text }
}

function stamp(atMs: number): string {
  return new Date(atMs).toISOString().slice(0, 16).replaceAll(':', '')
}
