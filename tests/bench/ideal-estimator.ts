/**
 * The ideal estimator: our equations, told what the truth was drawn from. It knows the book crop of the plant and how
 * widely factors, stocks, probes and water are drawn about their labels. It knows no drawn value, and where the plant’s
 * physics differs from our equations it errs as we do.
 */

import type { CropScenario, Scenario } from '../../simulator/scenario.ts'
import { ELEMENTS } from '../../src/chemistry/element.ts'
import { NOISE } from '../../src/core/estimate/noise.ts'
import type { CoreSettings, CropSettings } from '../../src/core/settings.ts'

const DAY_MS = 86_400_000
/** What is drawn once stays: so long a time constant never pulls it back within a trial. */
const FOR_EVER_MS = 10_000 * DAY_MS

/** The site’s settings with the plant’s own priors. */
export function idealSettings(core: CoreSettings, scenario: Scenario): CoreSettings {
  const { spread, firstFill, source } = scenario
  const strengthSd = Math.hypot(spread.pumpGain, spread.stockStrength)
  return {
    ...core,
    source: { ...core.source, relativeSd: source.relativeSd },
    firstFill: { ...core.firstFill, relativeSd: firstFill.relativeSd },
    stocks: core.stocks.map((stock) => ({ ...stock, strengthSd })),
    crops: core.crops.map((crop) => {
      const truth = scenario.crops.find(({ id }) => id === crop.id)
      return truth ? idealCrop(crop, truth, scenario) : crop
    }),
    probes: core.probes.map((probe) => {
      if (probe.role === 'conductivity') return { ...probe, noiseSd: spread.conductivityNoise }
      return probe.role === 'ph' ? { ...probe, noiseSd: spread.phNoise } : probe
    }),
  }
}

const MAJOR: readonly string[] = ['NO3-N', 'NH4-N', 'P', 'K', 'Ca', 'Mg', 'S']

function idealCrop(crop: CropSettings, truth: CropScenario, { spread }: Scenario): CropSettings {
  const uptake = (name: (typeof ELEMENTS)[number]): number => {
    if (name === 'Na') return truth.sodiumRatio
    return name === 'Cl' ? truth.chlorideRatio : (truth.uptakeMmolPerL[name] ?? 0)
  }
  return {
    ...crop,
    uptakeMmolPerL: Float64Array.from(ELEMENTS, uptake),
    growthSd: spread.growth,
    elementSd: Float64Array.from(ELEMENTS, (name) => (MAJOR.includes(name) ? spread.uptakeMajor : spread.uptakeMinor)),
    waterStartLPerDay: truth.waterStartLPerDay,
    waterFullLPerDay: truth.waterFullLPerDay,
    halfwayDays: truth.halfwayDays,
  }
}

type Noise = Partial<Record<keyof typeof NOISE, number>>

/** The plant’s own statistics for the constants of the method; what is not drawn by the plant stays as it is. */
function idealNoise({ spread }: Scenario): Noise {
  const [low, high] = [spread.conductivityGainLow, spread.conductivityGainHigh]
  return {
    untrackedSdMeqPerL: spread.untrackedMeqPerL,
    // Uniform on either side of 1.
    conductivityGainSd: Math.sqrt((low * low + low * high + high * high) / 3),
    conductivityGainPerRootDay: perRootDay(spread.conductivityDriftPerMonth / 30),
    phOffsetSd: spread.phOffset,
    phOffsetPerRootDay: perRootDay(spread.phDriftPerMonth / 30),
    deliveryPerRootDay: perRootDay(spread.pumpWearPerWeek / 7),
    growthTauMs: FOR_EVER_MS,
    waterLastingSd: spread.water,
    waterLastingTauMs: FOR_EVER_MS,
    uptakeTauMs: FOR_EVER_MS,
    growthTodaySd: spread.growthDay,
    // Day factors keep 0.6 of yesterday’s, source water 0.7, the air 0.97 of the hour before.
    growthTodayTauMs: -DAY_MS / Math.log(0.6),
    sourceTauMs: -DAY_MS / Math.log(0.7),
    logPco2Mean: -3.3,
    logPco2Sd: 0.05,
    logPco2TauMs: -DAY_MS / 24 / Math.log(0.97),
  }
}

/** A straight drift as the random walk that is as wide after four weeks, half of the time a trial lasts. */
function perRootDay(perDay: number): number {
  return perDay * Math.sqrt(28)
}

/** Runs `work` while the filter’s constants are the plant’s; they are put back whatever happens. */
export function withIdealNoise<T>(scenario: Scenario, work: () => T): T {
  const kept = { ...NOISE }
  try {
    Object.assign(NOISE, idealNoise(scenario))
    return work()
  } finally {
    Object.assign(NOISE, kept)
  }
}
