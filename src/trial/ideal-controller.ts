/**
 * The best that dosing could do: the true composition instead of an estimate, the crop’s last hour as a forecast of
 * its next, and solution let go when an element nears the top of its band. A yardstick, not something that can be built.
 */

import type { World } from '../../simulator/world.ts'
import { alkalinityFromPh } from '../chemistry/acidity.ts'
import { conductivityGradient, GRADIENT_LENGTH } from '../chemistry/conductivity.ts'
import { ELEMENT_COUNT, ELEMENT_INDEX, ELEMENTS } from '../chemistry/element.ts'
import type { Configuration } from '../config/configuration.ts'
import { benchBands } from '../core/plan/bands.ts'
import type { PlanInput } from '../core/plan/plan-input.ts'
import { plan } from '../core/plan/planner.ts'
import type { CoreSettings } from '../core/settings.ts'
import { coreSettings } from '../reservoir/configure.ts'
import type { Input } from '../reservoir/input.ts'
import type { Controller } from './controller.ts'
import { createShotDriver } from './shot-driver.ts'

const HOUR_MS = 3_600_000
/** Share of the solution let go at once, and how near the top of a band that begins. */
const SLICE = 0.1
const NEAR_TOP = 0.97
const OPEN_AIR = -3.35
/** What a renewal is worth letting solution go for. */
const WATCHED = ['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S', 'Na', 'Cl'] as const

/** It looks into the plant itself, so it only drives a world in the same process. */
export function createIdealController(configuration: Configuration, world: World): Controller {
  const settings = coreSettings(configuration)
  const driver = createShotDriver(configuration)
  let nextMs = 0
  let before: Hour | undefined

  const act = (atMs: number): void => {
    if (atMs < nextMs || !driver.isIdle) return
    nextMs = atMs + HOUR_MS
    const now = look(world)
    if (isNearTop(settings, now, atMs)) {
      world.drain(SLICE * settings.reservoir.volumeL)
      world.refill()
    }
    const mixed = look(world)
    for (const dose of plan(idealInput(settings, mixed, before, atMs)).doses)
      driver.ask(dose.stock, dose.volumeUl / 1000)
    before = mixed
  }

  return {
    keepsLimits: false,
    refused: 0,
    unknown: 0,
    alarms: [],
    handle(input: Input) {
      if (input.kind === 'scan') act(input.atMs)
      return driver.handle(input)
    },
  }
}

interface Hour {
  readonly volumeL: number
  readonly mmolPerL: Float64Array
  readonly alkalinityMeqPerL: number
  readonly ph: number
  readonly dosedMl: Readonly<Record<string, number>>
}

function look(world: World): Hour {
  const { volumeL, mmolPerL, alkalinityMeqPerL, ph, pumps } = world.truth()
  const dosedMl = Object.fromEntries(Object.entries(pumps).map(([pump, { deliveredMl }]) => [pump, deliveredMl]))
  return {
    volumeL,
    mmolPerL: Float64Array.from(ELEMENTS, (name) => mmolPerL[name] ?? 0),
    alkalinityMeqPerL,
    ph,
    dosedMl,
  }
}

function isNearTop(settings: CoreSettings, now: Hour, atMs: number): boolean {
  const { elements } = benchBands(settings, settings.cohorts, atMs)
  return WATCHED.some((name) => {
    const at = ELEMENT_INDEX[name]
    const band = elements[at]!
    return now.mmolPerL[at]! > NEAR_TOP * band.high && settings.source.mmolPerL[at]! < band.aim
  })
}

/** The planner’s question with the truth for an estimate: no doubt, no limits, the whole gap closed at once. */
function idealInput(settings: CoreSettings, now: Hour, before: Hour | undefined, atMs: number): PlanInput {
  const bands = benchBands(settings, settings.cohorts, atMs)
  const gradient = new Float64Array(GRADIENT_LENGTH)
  const conductivityDsPerM = conductivityGradient(now.mmolPerL, now.ph, OPEN_AIR, gradient)
  const sdMmolPerL = new Float64Array(ELEMENT_COUNT)
  return {
    settings: { ...settings, planning: { ...settings.planning, gapSharePerDay: 0.999, marginSds: 0 } },
    atMs,
    planId: 'ideal',
    estimate: { ...now, sdMmolPerL, alkalinitySdMeqPerL: 0, conductivityDsPerM },
    forecast: lastHour(settings, now, before),
    bands: bands.elements,
    phBand: bands.ph,
    alkalinityAim: {
      lowMeqPerL: alkalinityFromPh(now.mmolPerL, bands.ph.low, OPEN_AIR),
      aimMeqPerL: alkalinityFromPh(now.mmolPerL, bands.ph.aim, OPEN_AIR),
      highMeqPerL: alkalinityFromPh(now.mmolPerL, bands.ph.high, OPEN_AIR),
    },
    headroom: { stocks: settings.stocks.map(({ id }) => ({ stock: id, ...UNLIMITED })) },
    responses: { conductivityDsPerMPerMmolPerL: gradient.subarray(0, ELEMENT_COUNT) },
    deliveryFactor: new Float64Array(settings.stocks.length).fill(1),
    sampleAgeDays: 0,
    waits: { mixingMs: 0, apartMs: () => 0 },
  }
}

const LITRE_UL = 1_000_000
const UNLIMITED = {
  shotUl: LITRE_UL,
  hourUl: LITRE_UL,
  dayUl: LITRE_UL,
  shotMaxUl: LITRE_UL,
  gapMs: 0,
  notBeforeMs: 0,
  blockedBy: [],
}

/** What the last hour took and brought without its doses, as a forecast of the next. */
function lastHour(settings: CoreSettings, now: Hour, before: Hour | undefined): PlanInput['forecast'] {
  const uptakeMmol = new Float64Array(ELEMENT_COUNT)
  const makeUpMmol = new Float64Array(ELEMENT_COUNT)
  let alkalinityMeq = 0
  if (before) {
    for (let at = 0; at < ELEMENT_COUNT; at++)
      uptakeMmol[at] = before.mmolPerL[at]! * before.volumeL - now.mmolPerL[at]! * now.volumeL
    alkalinityMeq = now.alkalinityMeqPerL * now.volumeL - before.alkalinityMeqPerL * before.volumeL
    for (const stock of settings.stocks) {
      const ml = (now.dosedMl[stock.pump] ?? 0) - (before.dosedMl[stock.pump] ?? 0)
      for (let at = 0; at < ELEMENT_COUNT; at++) uptakeMmol[at]! += ml * stock.mmolPerMl[at]!
      alkalinityMeq -= ml * stock.alkalinityMeqPerMl
    }
  }
  return { intervalMs: HOUR_MS, uptakeMmol, makeUpL: 0, makeUpMmol, alkalinityMeq }
}
