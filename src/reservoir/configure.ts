/** From a parsed configuration to what the two rooms work with: settings for the core, limits for safety. */

import { alkalinityFromPh } from '../chemistry/acidity.ts'
import { alkalinityMeqPerL } from '../chemistry/alkalinity.ts'
import { OPEN_AIR } from '../chemistry/carbon.ts'
import { type Composition, ELEMENTS, toVector } from '../chemistry/element.ts'
import { alkalinityToMeqPerL } from '../chemistry/hardness.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { Configuration, Crops, Site } from '../config/configuration.ts'
import { type Quantity, toInsideUnit, type UnitCode } from '../contract/unit.ts'
import type {
  BandSettings,
  CoreSettings,
  CropSettings,
  FillSettings,
  GridSettings,
  PhotoperiodSettings,
  PlanningSettings,
  ProbeRole,
  ProbeSettings,
  RenewalSettings,
  WaterSettings,
} from '../core/settings.ts'
import { handSalts, stockSettings } from './configure-stock.ts'

export { safetyLimits } from './configure-limits.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000

/**
 * What the core must know of a site, in inside units (mmol, L, ms, dS/m).
 *
 * @throws where a stock names a salt or reagent that the salts do not have, which no parsed configuration does
 */
export function coreSettings(configuration: Configuration): CoreSettings {
  const { site, limits, crops, salts } = configuration
  const { volumeL, volumeMinL, volumeMaxL, filmL, mixingMin, temperatureC } = site.reservoir
  const { intervalMin, gapSharePerDay, marginSds, sdMaxShare, parity } = site.planning
  const guardDsPerM = limits.probes.conductivityMaxDsPerM
  const conductivityMaxDsPerM = site.planning.conductivityMaxDsPerM ?? guardDsPerM * PLANNED_SHARE_OF_GUARD
  return {
    reservoir: { volumeL, volumeMinL, volumeMaxL, filmL, mixingMs: mixingMin * MINUTE_MS, temperatureC },
    source: sourceSettings(site),
    firstFill: fillSettings(site),
    probes: site.probes.flatMap((probe) => probeSettings(probe, volumeMaxL)),
    stocks: site.stocks.map((stock) => stockSettings(stock, salts)),
    handSalts: handSalts(salts),
    crops: Object.entries(crops).map(([id, crop]) => cropSettings(id, crop)),
    cohorts: site.cohorts.map(({ id, crop, plants, transplantedAtMs, harvestedAtMs }) => ({
      ...{ id, crop, plants, transplantedAtMs },
      ...(harvestedAtMs === undefined ? {} : { harvestedAtMs }),
    })),
    photoperiod: photoperiodSettings(site),
    planning: {
      ...{ intervalMs: intervalMin * MINUTE_MS, gapSharePerDay, marginSds, conductivityMaxDsPerM, sdMaxShare },
      ...paritySettings(parity),
    },
    renewal: renewalSettings(site),
    grid: gridSettings(site),
    reportChangeMaxShare: Float64Array.from(
      ELEMENTS,
      (name) => site.laboratory.elements[name] ?? site.laboratory.changeMaxShare,
    ),
  }
}

/** Planned up to the guard itself, every dose near it would be refused for a probe that reads a little high. */
const PLANNED_SHARE_OF_GUARD = 0.95

/** The charge that no listed element carries makes up the alkalinity that the report states. */
function sourceSettings({ source }: Site): WaterSettings {
  const mmolPerL = vectorOfMgPerL(source.elements)
  const alkalinity = alkalinityToMeqPerL(source.alkalinityMgPerLCaco3, 'mg/L CaCO3')
  return { mmolPerL, relativeSd: source.relativeSd, untrackedMeqPerL: alkalinity - alkalinityMeqPerL(mmolPerL) }
}

/** Where its pH is known, the untracked charge makes the fill stand at that pH in open air. */
function fillSettings({ firstFill }: Site): FillSettings {
  const { volumeL, relativeSd, ph } = firstFill
  const mmolPerL = vectorOfMgPerL(firstFill.elements)
  const untrackedMeqPerL = ph === undefined ? 0 : alkalinityFromPh(mmolPerL, ph, OPEN_AIR) - alkalinityMeqPerL(mmolPerL)
  return { volumeL, mmolPerL, relativeSd, untrackedMeqPerL }
}

function vectorOfMgPerL(mgPerL: Composition): Float64Array {
  return toVector(Object.fromEntries(ELEMENTS.map((name) => [name, toMmolPerL(name, mgPerL[name] ?? 0)])))
}

/** Beyond these a value is not of this world: a broken cable, an empty tank, a wrong unit. Judgement. */
const PLAUSIBLE: Readonly<Record<ProbeRole, readonly [number, number]>> = {
  conductivity: [0.01, 20],
  ph: [2, 12],
  temperature: [-5, 60],
  level: [0, Number.POSITIVE_INFINITY],
  'top-up': [0, 1e9],
  flow: [0, 5000],
  leak: [0, 1],
}

/** A level probe that shows more than this share of the brim is wrong. */
const LEVEL_OVER_BRIM = 1.5

/** Standard deviation of one reading where the site states none; conductivity as a share. Judgement. */
const NOISE_SD: Readonly<Record<ProbeRole, number>> = {
  conductivity: 0.01,
  ph: 0.02,
  temperature: 0.2,
  level: 0.5,
  'top-up': 0.05,
  flow: 0.2,
  leak: 0,
}

/** A hold switch says nothing about the water: safety alone hears it. */
function probeSettings(probe: Site['probes'][number], volumeMaxL: number): ProbeSettings[] {
  const { id, node, role, unit, compensated, noiseSd } = probe
  if (role === 'hold-switch') return []
  const [min, most] = PLAUSIBLE[role]
  const max = role === 'level' ? LEVEL_OVER_BRIM * volumeMaxL : most
  const insideSd = noiseSd === undefined || role === 'conductivity' ? noiseSd : noiseSd * insideUnitsPer(unit)
  return [
    {
      id,
      node,
      role,
      quantity: quantityOf(role, unit),
      unit,
      compensated,
      min,
      max,
      noiseSd: insideSd ?? NOISE_SD[role],
    },
  ]
}

function insideUnitsPer(unit: UnitCode): number {
  return toInsideUnit(1, unit) - toInsideUnit(0, unit)
}

function quantityOf(role: ProbeRole, unit: UnitCode): Quantity {
  if (role === 'top-up') return 'volume'
  if (role === 'leak') return 'switch'
  return role === 'flow' && unit === '1' ? 'switch' : role
}

function cropSettings(id: string, crop: Crops[string]): CropSettings {
  const uptake = ELEMENTS.map((name) => crop.uptake[name])
  const { startLPerDay, fullLPerDay, halfwayDays } = crop.water
  return {
    id,
    uptakeMmolPerL: Float64Array.from(uptake, (one) => (one.driver === 'concentration' ? one.ratio : one.mmolPerL)),
    drivers: uptake.map(({ driver }) => driver),
    growthSd: crop.growthSd,
    elementSd: Float64Array.from(uptake, ({ sd }) => sd),
    waterStartLPerDay: startLPerDay,
    waterFullLPerDay: fullLPerDay,
    halfwayDays,
    bands: ELEMENTS.map((name): BandSettings => {
      const { lowMgPerL, aimMgPerL, highMgPerL, weight } = crop.bands[name]
      const [low, aim, high] = [lowMgPerL, aimMgPerL, highMgPerL].map((value) => toMmolPerL(name, value))
      return { low: low!, aim: aim!, high: high!, weight }
    }),
    phLow: crop.ph.low,
    phAim: crop.ph.aim,
    phHigh: crop.ph.high,
  }
}

function photoperiodSettings({ photoperiod }: Site): PhotoperiodSettings {
  const { litFrom, litUntil, darkWaterShare, darkGrowthShare } = photoperiod
  return { litFromMin: minuteOfDay(litFrom), litUntilMin: minuteOfDay(litUntil), darkWaterShare, darkGrowthShare }
}

/** '06:30' is the 390th minute. */
function minuteOfDay(time: string): number {
  const [hours, minutes] = time.split(':').map(Number)
  return hours! * 60 + minutes!
}

function paritySettings(parity: Site['planning']['parity']): Pick<PlanningSettings, 'parity'> {
  if (parity === undefined) return {}
  const [first, second] = parity.stocks
  return { parity: { stocks: [first!, second!], windowShare: parity.windowShare } }
}

function renewalSettings({ renewal }: Site): RenewalSettings {
  const { hygieneDays, serveDays } = renewal
  return {
    serveMs: serveDays * DAY_MS,
    ...(hygieneDays === undefined ? {} : { hygieneMs: hygieneDays * DAY_MS }),
  }
}

function gridSettings({ grid }: Site): GridSettings {
  return {
    stepMs: grid.stepMin * MINUTE_MS,
    keptMs: grid.keptDays * DAY_MS,
    checkpointMs: grid.checkpointH * HOUR_MS,
    slotsPerSlice: grid.slotsPerSlice,
  }
}
