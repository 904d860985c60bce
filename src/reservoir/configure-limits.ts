/** Safety’s limits from the configuration: integer microlitres and milliseconds, every number stated. */

import type { Configuration, Limits as LimitsPart, Site } from '../config/configuration.ts'
import type {
  AcidLimits,
  BaseLimits,
  ElementLimits,
  Limits,
  MeterLimits,
  NotChecked,
  ProbeLimits,
  RationLimits,
  RefillLimits,
  StockLimits,
} from '../safety/limits.ts'
import { stockContent } from './configure-content.ts'
import { effectLimits, stockEffect } from './configure-effect.ts'

const SECOND_MS = 1000
const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

/** A switch shows the very same value for as long as all is well. Ten years. */
const NEVER_STUCK_MS = 10 * 365 * 86_400_000
/** Between 0 and 1: a flow switch tells only whether there is flow. */
const SWITCH_FLOW = 0.5
/** A level probe that shows more than this share of the brim is wrong. */
const LEVEL_OVER_BRIM = 1.5
/** More than any circulation of a reservoir of this kind, L/min. */
const FLOW_MAX_L_PER_MIN = 5000

/** What may be delivered at this site. A stock of the site without limits is left out, and so is never dosed. */
export function safetyLimits(configuration: Configuration): Limits {
  const { site, limits, salts } = configuration
  const { probes, water, commands, acid, base } = limits
  const isSwitched = site.probes.some(({ role, unit }) => role === 'flow' && unit === '1')
  return {
    mode: limits.mode,
    approvalMs: minutes(limits.approvalMin),
    probes: site.probes.flatMap((probe) => probeLimits(probe, limits, site)),
    // the make-up meter is no condition of any shot
    notFitted: site.notFitted.flatMap(({ role, reason }) =>
      role === 'top-up' || role === 'leak' ? [] : [{ role, reason }],
    ),
    notFittedCapShare: limits.notFitted.capShare,
    ...twinLimits(probes.twinsWithin),
    scanAgeMaxMs: seconds(probes.scanAgeMaxS),
    stuckMs: minutes(probes.stuckMin),
    levelMinL: water.levelMinL,
    levelMaxL: water.levelMaxL,
    flowMinLPerMin: isSwitched ? SWITCH_FLOW : water.flowMinLPerMin,
    ...(isSwitched ? { flowIsSwitch: true } : {}),
    flowSteadyMs: minutes(water.flowSteadyMin),
    heartbeatAgeMaxMs: seconds(commands.heartbeatAgeMaxS),
    startWindowMs: seconds(commands.startWindowS),
    reportGraceMs: seconds(commands.reportGraceS),
    mixingMs: minutes(site.reservoir.mixingMin),
    stocks: site.stocks.flatMap((stock) =>
      stockLimits(stock, limits, { contentNgPerUl: stockContent(stock, salts), ...stockEffect(configuration, stock) }),
    ),
    effect: effectLimits(limits.effect),
    ...(acid === undefined ? {} : { acid: acidLimits(acid) }),
    ...(base === undefined ? {} : { base: baseLimits(base) }),
    ...(limits.elements === undefined ? {} : { elements: elementLimits(limits.elements, site, limits) }),
    ...meterLimits(site, limits),
    ...(limits.ration === undefined ? {} : { ration: rationLimits(limits.ration) }),
  }
}

function probeLimits(probe: Site['probes'][number], { probes }: LimitsPart, site: Site): ProbeLimits[] {
  const { id, node, role, unit } = probe
  // what plant life alone depends on is no condition of any shot
  if (role === 'leak') return []
  const slow = { stuckMs: minutes(probes.stuckSlowMin) }
  const common = { id, node, role }
  switch (role) {
    case 'conductivity':
      return [{ ...common, min: probes.conductivityMinDsPerM, max: probes.conductivityMaxDsPerM }]
    case 'ph':
      return [{ ...common, min: probes.phMin, max: probes.phMax }]
    case 'temperature':
      return [{ ...common, min: probes.temperatureMinC, max: probes.temperatureMaxC, ...slow }]
    case 'level':
      return [{ ...common, min: 0, max: LEVEL_OVER_BRIM * site.reservoir.volumeMaxL, ...slow }]
    case 'flow':
      return unit === '1'
        ? [{ ...common, min: 0, max: 1, stuckMs: NEVER_STUCK_MS }]
        : [{ ...common, min: 0, max: FLOW_MAX_L_PER_MIN, ...slow }]
    case 'hold-switch':
      return [{ ...common, min: 0, max: 1, stuckMs: NEVER_STUCK_MS }]
    case 'top-up':
      return []
  }
}

function twinLimits(twins: LimitsPart['probes']['twinsWithin']): Pick<Limits, 'twinsWithin'> {
  if (twins === undefined) return {}
  const { conductivityDsPerM, ph, temperatureC, levelL, flowLPerMin } = twins
  const named = { conductivity: conductivityDsPerM, ph, temperature: temperatureC, level: levelL, flow: flowLPerMin }
  return { twinsWithin: Object.fromEntries(Object.entries(named).filter(([, within]) => within !== undefined)) }
}

function stockLimits(
  { id, node, pump, rateMlPerMin }: Site['stocks'][number],
  limits: LimitsPart,
  brought: Pick<StockLimits, 'contentNgPerUl' | 'effect'>,
): StockLimits[] {
  const entry = limits.stocks[id]
  if (entry === undefined) return []
  const isAcid = limits.acid?.stocks.includes(id) ?? false
  const isBase = limits.base?.stocks.includes(id) ?? false
  return [
    {
      ...{ stock: id, node, pump },
      rateUlPerS: (rateMlPerMin * 1000) / 60,
      shotMaxUl: microlitres(entry.shotMaxMl),
      hourMaxUl: microlitres(entry.hourMaxMl),
      dayMaxUl: microlitres(entry.dayMaxMl),
      gapMs: minutes(entry.gapMin),
      apart: entry.apart.map(({ from, min }) => ({ from, ms: minutes(min) })),
      ...(isAcid ? { acid: true } : {}),
      refill: refillLimits(entry.bottle),
      ...(entry.calibration === undefined ? {} : { calibration: calibrationLimits(entry.calibration) }),
      ...(isBase ? { base: true } : {}),
      ...brought,
    },
  ]
}

/** A limits file from before bottles were reckoned with says so here. */
const NO_BOTTLE = { notChecked: 'the limits file states no bottle for it' }

function refillLimits(bottle: LimitsPart['stocks'][string]['bottle']): RefillLimits | NotChecked {
  if (bottle === undefined) return NO_BOTTLE
  if ('notChecked' in bottle) return bottle
  return {
    bottleUl: microlitres(bottle.volumeMl),
    sinceRefillMaxUl: microlitres(bottle.sinceRefillMaxMl),
    firstShotUl: microlitres(bottle.firstShotMl),
  }
}

function calibrationLimits({ runMaxMl, dayMaxMl }: NonNullable<LimitsPart['stocks'][string]['calibration']>) {
  return { runMaxUl: microlitres(runMaxMl), dayMaxUl: microlitres(dayMaxMl) }
}

function acidLimits(acid: AcidPart): AcidLimits {
  return {
    meqPerMl: acid.strengthMeqPerMl,
    reservoirMinL: acid.reservoirMinL,
    shotMaxMeqPerL: acid.shotMaxMeqPerL,
    phFreshMs: seconds(acid.phFreshS),
    phFloor: acid.phFloor,
    afterFlowMs: minutes(acid.afterFlowMin),
    injection: acid.injection,
    buffering: bufferingLimits(acid.buffering),
  }
}

function bufferingLimits({ makeUpMaxLPerMin: _valve, unmeteredMeqPerHour, ...rest }: AcidPart['buffering']) {
  return unmeteredMeqPerHour === undefined ? rest : { ...rest, unmeteredMeqPerHour }
}

type AcidPart = NonNullable<LimitsPart['acid']>

function baseLimits(base: NonNullable<LimitsPart['base']>): BaseLimits {
  return {
    meqPerMl: base.strengthMeqPerMl,
    reservoirMinL: base.reservoirMinL,
    shotMaxMeqPerL: base.shotMaxMeqPerL,
    phFreshMs: seconds(base.phFreshS),
    phCeiling: base.phCeiling,
    afterFlowMs: minutes(base.afterFlowMin),
    acidApartMs: minutes(base.acidApartMin),
  }
}

/** Where a level is read nothing is dosed below its least; where none is, the least that can be there counts. */
function elementLimits(
  elements: NonNullable<LimitsPart['elements']>,
  site: Site,
  { water }: LimitsPart,
): ElementLimits {
  const isLevelRead = site.probes.some(({ role }) => role === 'level')
  const volumeL = isLevelRead ? water.levelMinL : site.reservoir.volumeMinL
  const caps = Object.entries(elements).map(([element, { dayMaxMgPerL }]) => [element, dayMaxMgPerL] as const)
  return { volumeL, dayMaxMgPerL: Object.fromEntries(caps) }
}

/** Two meters would have to be added up, and one that is lost would not show: only the first one counts. */
function meterLimits(site: Site, { acid, ration }: LimitsPart): { readonly meter?: MeterLimits } {
  const meter = site.probes.find(({ role }) => role === 'top-up')
  const valves = [acid?.buffering.makeUpMaxLPerMin, ration?.makeUpMaxLPerMin].filter((most) => most !== undefined)
  if (meter === undefined || valves.length === 0) return {}
  return { meter: { id: meter.id, node: meter.node, maxLPerMin: Math.min(...valves) } }
}

function rationLimits(ration: NonNullable<LimitsPart['ration']>): RationLimits {
  return {
    reason: ration.reason,
    covers: ration.covers,
    lastsMs: Math.floor(ration.daysMost * DAY_MS),
    stocks: Object.entries(ration.stocks).map(([stock, { mlPerL, dayMaxMl }]) => ({
      stock,
      ulPerL: mlPerL * 1000,
      dayMaxUl: microlitres(dayMaxMl),
    })),
  }
}

/** Caps are rounded down, waits up: doubt falls on the side of less. */
function microlitres(ml: number): number {
  return Math.floor(ml * 1000 + ROUNDING)
}

function minutes(min: number): number {
  return Math.ceil(min * MINUTE_MS - ROUNDING)
}

/** scanAge and the like are ages that may not be passed, so they round as caps do. */
function seconds(s: number): number {
  return Math.floor(s * SECOND_MS + ROUNDING)
}

/** 0.29 × 1000 is 289.99999999999997 in a computer; that is not a microlitre less. */
const ROUNDING = 1e-6
