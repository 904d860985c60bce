/** Probes that walk away, were moved by a knock, or correct for temperature once too often. */

import type { GridStep } from '../estimate/grid-step.ts'
import type { CoreSettings } from '../settings.ts'
import type { Suspicion, Variant } from './suspicion.ts'

const DAY_MS = 86_400_000
/** Share of conductivity a degree that instruments correct by; commonly 1.9 to 2.1 % at 25 °C (common practice, no source). */
const PER_DEGREE = 0.02
const CONDUCTIVITY_PER_DAY = [-0.05, -0.02, 0.02, 0.05] as const
const CONDUCTIVITY_STEPS = [-0.2, -0.08, 0.08, 0.2] as const
const PH_PER_DAY = [-0.15, -0.06, 0.06, 0.15] as const
const PH_STEPS = [-0.5, -0.2, 0.2, 0.5] as const

/** @param onsetsMs moments at which it may have begun */
export function probeSuspicions(settings: CoreSettings, onsetsMs: readonly number[]): readonly Suspicion[] {
  return [
    walks('ec-walks', 'EC', onsetsMs, CONDUCTIVITY_PER_DAY, (step, sinceMs, perDay) =>
      scaled(step, Math.exp(-perDay * daysSince(step, sinceMs))),
    ),
    jumped('ec-jumped', 'EC', onsetsMs, CONDUCTIVITY_STEPS, (step, by) => scaled(step, Math.exp(-by))),
    walks('ph-walks', 'pH', onsetsMs, PH_PER_DAY, (step, sinceMs, perDay) =>
      shifted(step, -perDay * daysSince(step, sinceMs)),
    ),
    jumped('ph-jumped', 'pH', onsetsMs, PH_STEPS, (step, by) => shifted(step, -by)),
    ...compensation(settings, onsetsMs),
  ]
}

function daysSince(step: GridStep, sinceMs: number): number {
  return (step.endMs - sinceMs) / DAY_MS
}

function scaled(step: GridStep, factor: number): GridStep {
  const { conductivityDsPerM } = step
  return conductivityDsPerM === undefined ? step : { ...step, conductivityDsPerM: conductivityDsPerM * factor }
}

function shifted(step: GridStep, by: number): GridStep {
  return step.ph === undefined ? step : { ...step, ph: step.ph + by }
}

function walks(
  id: string,
  name: 'EC' | 'pH',
  onsetsMs: readonly number[],
  perDays: readonly number[],
  correct: (step: GridStep, sinceMs: number, perDay: number) => GridStep,
): Suspicion {
  const variants = onsetsMs.flatMap((sinceMs) =>
    perDays.map((perDay): Variant => {
      const size = `${perDay > 0 ? 'up' : 'down'} by about ${tellSize(name, Math.abs(perDay))} a day`
      return { sinceMs, size, change: (step) => correct(step, sinceMs, perDay) }
    }),
  )
  return {
    id,
    prior: 0.04,
    variants,
    tell: ({ size }) => `The ${name} probe seems to walk ${size}.`,
    check: CHECK[name],
  }
}

function jumped(
  id: string,
  name: 'EC' | 'pH',
  onsetsMs: readonly number[],
  sizes: readonly number[],
  correct: (step: GridStep, by: number) => GridStep,
): Suspicion {
  const variants = onsetsMs.flatMap((sinceMs) =>
    sizes.map((by): Variant => {
      const size = `${tellSize(name, Math.abs(by))} ${by > 0 ? 'high' : 'low'}`
      return { sinceMs, size, change: (step) => correct(step, by) }
    }),
  )
  return {
    id,
    prior: 0.02,
    variants,
    tell: ({ size }) => `The ${name} probe seems to read about ${size} since then.`,
    check: CHECK[name],
  }
}

const CHECK = {
  EC: 'Rinse the EC probe and hold it into a standard solution; calibrate it, or clean it when it is slow.',
  pH: 'Rinse the pH probe and hold it into two buffers; calibrate it, or replace it when its slope is poor.',
} as const

function tellSize(name: 'EC' | 'pH', size: number): string {
  return name === 'EC' ? `${(size * 100).toFixed(0)} %` : `${size.toFixed(2)} pH`
}

/** Only where the water’s own temperature is read can this be told from a gain. */
function compensation(settings: CoreSettings, onsetsMs: readonly number[]): readonly Suspicion[] {
  const sinceMs = onsetsMs[0]
  if (sinceMs === undefined || !settings.probes.some((probe) => probe.role === 'temperature')) return []
  const corrected = (step: GridStep, direction: 1 | -1): GridStep =>
    step.temperatureC === undefined ? step : scaled(step, (1 + PER_DEGREE * (step.temperatureC - 25)) ** direction)
  return [
    {
      id: 'ec-compensated-twice',
      prior: 0.01,
      variants: [{ sinceMs, size: '', change: (step) => corrected(step, 1) }],
      tell: () => 'The EC reading seems to be corrected for temperature twice, in the instrument and again here.',
      check: 'Look at the instrument’s setting, and at `compensated` of the EC probe in the site file.',
    },
    {
      id: 'ec-not-compensated',
      prior: 0.01,
      variants: [{ sinceMs, size: '', change: (step) => corrected(step, -1) }],
      tell: () => 'The EC reading seems not to be corrected for temperature at all.',
      check: 'Look at the instrument’s setting, and at `compensated` of the EC probe in the site file.',
    },
  ]
}
