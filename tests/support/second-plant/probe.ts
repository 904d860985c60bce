import type { ScanMessage } from '../../../src/contract/message.ts'
import type { Chance } from './chance.ts'
import type { Water } from './reservoir.ts'

const DAY_MS = 86_400_000
const MONTH_MS = 30 * DAY_MS

export interface Circumstances {
  readonly atMs: number
  readonly water: Water
  readonly standingL: number
  readonly makeUpL: number
  readonly circulating: boolean
}

type Reading = ScanMessage['readings'][number]

/** The six probes and their units, as the node announces them. */
export const PROBES = [
  { id: 'ec-1', unit: 'mS/cm' },
  { id: 'ph-1', unit: '[pH]' },
  { id: 'temperature-1', unit: 'Cel' },
  { id: 'level-1', unit: 'L' },
  { id: 'meter-1', unit: 'L' },
  { id: 'flow-1', unit: 'L/min' },
] as const

/** How far this set of probes is off; drawn once. */
export interface ProbeErrors {
  readonly ecGain: number
  readonly ecDriftPerMonth: number
  readonly phOffset: number
  readonly phSlope: number
  readonly phDriftPerMonth: number
  readonly temperatureOffsetC: number
  readonly levelGain: number
  readonly levelOffsetL: number
  readonly meterGain: number
  readonly flowGain: number
}

/** Probes with errors of their own, which read the water that bathes them. */
export function installProbes(
  startMs: number,
  chance: Chance,
): { errors: ProbeErrors; read(now: Circumstances): Reading[] } {
  const errors: ProbeErrors = {
    ecGain: chance.factor(0.01, 0.04),
    ecDriftPerMonth: chance.between(-0.02, 0.005),
    phOffset: chance.between(-0.1, 0.1),
    phSlope: chance.between(0.96, 1.01),
    phDriftPerMonth: chance.between(-0.1, 0.1),
    temperatureOffsetC: chance.between(-0.3, 0.3),
    levelGain: chance.factor(0.002, 0.008),
    levelOffsetL: chance.between(-1, 1),
    meterGain: chance.factor(0.005, 0.02),
    flowGain: chance.factor(0.01, 0.04),
  }
  const read = ({ atMs, water, standingL, makeUpL, circulating }: Circumstances): Reading[] => {
    const months = (atMs - startMs) / MONTH_MS
    const celsius = temperatureC(atMs)
    const ph = 7 + (water.acidity.ph - 7) * errors.phSlope + errors.phOffset + errors.phDriftPerMonth * months
    const flow = circulating ? 9 * errors.flowGain * (1 + chance.normal(0.015)) : 0
    const ec = compensated(water.mSPerCm, celsius) * errors.ecGain * (1 + errors.ecDriftPerMonth * months)
    const values = [
      round(ec * (1 + chance.normal(0.005)), 3),
      round(ph + chance.normal(0.015), 2),
      round(celsius + errors.temperatureOffsetC + chance.normal(0.03), 2),
      round(standingL * errors.levelGain + errors.levelOffsetL + chance.normal(0.15), 1),
      Math.floor(makeUpL * errors.meterGain * 10) / 10,
      round(flow, 2),
    ]
    return PROBES.map((probe, index) => ({ ...probe, value: values[index]!, quality: 'good' }))
  }
  return { errors, read }
}

/** A cellar’s water: 20.5 °C, warmest in mid-afternoon. */
function temperatureC(atMs: number): number {
  return 20.5 + 1.4 * Math.cos(2 * Math.PI * ((atMs % DAY_MS) / DAY_MS - 0.66)) + 0.4 * Math.sin(atMs / (3.7 * DAY_MS))
}

/** The water changes by 1.95 % a degree, the instrument takes 2.0 % for granted. */
function compensated(mSPerCm: number, celsius: number): number {
  return (mSPerCm * (1 + 0.0195 * (celsius - 25))) / (1 + 0.02 * (celsius - 25))
}

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits))
}
