/** From answers to the numbers of a site, and from those to its file. */

import { ELEMENT_INDEX, ELEMENTS } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import type { Crops } from '../config/configuration.ts'
import type { Water } from '../formulation/water/water.ts'
import { readAcid, type readFitted, readNumber, readStock, type StockAnswer } from './init-questions.ts'

export type Fitted = ReturnType<typeof readFitted>

export interface SitePlan {
  readonly name: string
  readonly zone: string
  readonly volumeL: number
  readonly volumeMinL: number
  readonly volumeMaxL: number
  readonly circulationLPerMin: number
  readonly mixingMin: number
  readonly fitted: { readonly level: Fitted; readonly meter: Fitted; readonly flow: Fitted }
  readonly stocks: readonly StockAnswer[]
  readonly bottleL: number
  readonly acid: { readonly name: string; readonly eqPerL: number } | null
  readonly crop: string
  readonly plants: number
  readonly transplanted: string
  readonly water: Water
  readonly alkalinityMeqPerL: number
}

export interface Answers {
  readonly one: Readonly<Record<string, string>>
  readonly stocks: readonly string[]
}

/** Three turnovers mix a dose to 95 %: 1 − e⁻³ (a well-stirred tank). */
const TURNOVERS = 3

/** The numbers of a site whose answers were checked. */
export function planOf({ one, stocks }: Answers, water: Water, fitted: SitePlan['fitted']): SitePlan {
  const number = (key: string) =>
    answerOf(readNumber(one[key]!, 0, Number.MAX_VALUE, key === 'circulation' ? 'L/min' : 'L'))
  const volumeL = number('volume')
  const circulationLPerMin = number('circulation')
  return {
    ...{ name: one['name']!.trim(), zone: one['zone']!.trim(), volumeL, circulationLPerMin, fitted, water },
    volumeMinL: Math.round(volumeL * 0.6),
    volumeMaxL: Math.round(volumeL * 1.15),
    mixingMin: Math.min(240, Math.max(10, Math.ceil((TURNOVERS * volumeL) / circulationLPerMin))),
    stocks: stocks.map((text) => answerOf(readStock(text))),
    bottleL: number('bottle'),
    acid: answerOf(readAcid(one['acid']!)),
    crop: one['crop']!.trim(),
    plants: Number(one['plants']),
    transplanted: one['transplanted']!.trim(),
    alkalinityMeqPerL: water.alkalinity?.meqPerL ?? 0,
  }
}

function answerOf<Value>(read: { readonly value: Value } | { readonly wrong: string }): Value {
  if ('value' in read) return read.value
  throw new Error(`an answer that was not checked: ${read.wrong}`)
}

const MG_CACO3_PER_MEQ = 50.04

/** The site file’s text. */
export function siteText(plan: SitePlan, crop: Crops[string]): string {
  const { name, zone, volumeL, volumeMinL, volumeMaxL, mixingMin, circulationLPerMin, water, stocks, acid } = plan
  const aims = ELEMENTS.map((element) => [element, crop.bands[element].aimMgPerL] as const)
  const source = ELEMENTS.map(
    (element) => [element, toMgPerL(element, water.mmolPerL[ELEMENT_INDEX[element]]!)] as const,
  )
  return `# ${name}, written by tarnward init. Check every number; the descriptions are in the README.
site: ${name}
zone: ${zone}
crops: crops.yaml
salts: salts.yaml
limits: limits.yaml

reservoir:
  volumeL: ${volumeL}
  volumeMinL: ${volumeMinL}        # three fifths: measure at which level your pump draws air, and correct it
  volumeMaxL: ${volumeMaxL}        # where it overflows: measure it, and correct it
  mixingMin: ${mixingMin}         # three turnovers of ${volumeL} L at ${circulationLPerMin} L/min

source:                  # ${oneLine(water.name)}, mg/L of the element
  elements: ${mapText(source)}
  alkalinityMgPerLCaco3: ${Number((plan.alkalinityMeqPerL * MG_CACO3_PER_MEQ).toFixed(1))}

# Taken as mixed to the crop’s aims and known to a fifth only: send a sample, or write down what you really mixed.
firstFill:
  volumeL: ${volumeL}
  elements: ${mapText(aims)}
  relativeSd: 0.2

nodes: [bench]

probes:
  - { id: ec-1, node: bench, role: conductivity, unit: mS/cm, compensated: true }
  - { id: ph-1, node: bench, role: ph, unit: '[pH]' }
  - { id: temperature-1, node: bench, role: temperature, unit: Cel }
${probeLines(plan)}
stocks:                  # rates are to be measured: tarnward calibrate pump
${stocks.map((stock, at) => stockText(stock, at)).join('\n')}
${acid === null ? '' : `  - { id: acid, node: bench, pump: pump-${stocks.length + 1}, rateMlPerMin: 20, shotMinMl: 0.1, kind: acid, reagent: { name: ${quoted(acid.name)}, eqPerL: ${acid.eqPerL} } }\n`}
cohorts:
  - { id: first, crop: ${plan.crop}, plants: ${plan.plants}, transplantedOn: ${plan.transplanted} }

link: { broker: 'mqtt://127.0.0.1:1883', leaseS: 30 }
`
}

function probeLines({ fitted }: SitePlan): string {
  const roles = [
    { answer: fitted.level, role: 'level', line: '{ id: level-1, node: bench, role: level, unit: L }' },
    { answer: fitted.meter, role: 'top-up', line: '{ id: meter-1, node: bench, role: top-up, unit: L }' },
    { answer: fitted.flow, role: 'flow', line: '{ id: flow-1, node: bench, role: flow, unit: L/min }' },
  ]
  const there = roles.filter(({ answer }) => answer.isFitted).map(({ line }) => `  - ${line}\n`)
  const missing = roles.filter(({ answer }) => !answer.isFitted)
  const reasons = missing.map(({ role, answer }) => `  - { role: ${role}, reason: ${quoted(answer.reason)} }\n`)
  return `${there.join('')}${reasons.length === 0 ? '' : `\nnotFitted:\n${reasons.join('')}`}`
}

function stockText({ id, kind, salts }: StockAnswer, at: number): string {
  const amounts = salts.map(({ salt, gPerL }) => `      - { salt: ${quoted(salt)}, gPerL: ${gPerL} }`)
  return `  - id: ${id}\n    node: bench\n    pump: pump-${at + 1}\n    rateMlPerMin: 30\n    shotMinMl: 0.5\n    kind: ${kind}\n    salts:\n${amounts.join('\n')}`
}

function mapText(entries: readonly (readonly [string, number])[]): string {
  const stated = entries
    .filter(([, value]) => value > 0)
    .map(([name, value]) => `${name}: ${Number(value.toPrecision(4))}`)
  return `{ ${stated.join(', ')} }`
}

/** JSON strings are YAML strings, whatever a person typed. */
function quoted(text: string): string {
  return JSON.stringify(text)
}

function oneLine(text: string): string {
  return text.replaceAll(/\s+/g, ' ')
}
