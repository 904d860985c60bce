// The days over the crop: light, humidity, warmth and the carbon dioxide of the air.

import { createRandom, createWander } from './random.ts'
import type { Scenario } from './scenario.ts'

const DAY_MS = 86_400_000
const HOUR_MS = 3_600_000

export interface Weather {
  /** water wanted now over the day's ordinary mean, 1 on average over an ordinary day */
  readonly water: number
  /** growth now over the day's ordinary mean, 1 on average */
  readonly growth: number
  /** 0 in the dark, up to 1 at noon */
  readonly light: number
  readonly temperatureC: number
  /** log10 of the partial pressure of CO2 in atm */
  readonly logPco2: number
}

/**
 * Weather that follows the local clock and draws a new day at local midnight. Call with a time that never falls.
 *
 * Transpiration follows light over the day (references 4.4: 10 % at night, one midday peak); growth does so far less
 * (37 % at night with a second peak in its first hours: Le Bot & Kirkby 1992). Their day-to-day factors are AR(1) and
 * only partly shared: in a humid week water use falls and demand does not.
 */
export function createWeather(scenario: Scenario, seed: number, startMs: number): (atMs: number) => Weather {
  const random = createRandom(seed, 'weather')
  const { spread, photoperiod, reservoir } = scenario
  const shared = createWander(random, 0.5, 0.6)
  const water = createWander(random, spread.waterDay * 0.87, 0.5)
  const growth = createWander(random, spread.growthDay * 0.87, 0.6)
  const warmth = createWander(random, spread.temperatureC, 0.8)
  const air = createWander(random, 0.05, 0.97)
  const offsetMs = scenario.utcOffsetMin * 60_000
  let day = Math.floor((startMs + offsetMs) / DAY_MS)
  let hour = Math.floor(startMs / HOUR_MS)
  const drawDay = () => ({
    water: Math.exp(spread.waterDay * shared.value() + water.value() - spread.waterDay ** 2 / 2),
    growth: Math.exp(spread.growthDay * shared.value() + growth.value() - spread.growthDay ** 2 / 2),
  })
  let today = drawDay()
  return (atMs) => {
    const localDay = Math.floor((atMs + offsetMs) / DAY_MS)
    for (; day < localDay; day += 1) {
      for (const series of [shared, water, growth, warmth]) series.step()
      today = drawDay()
    }
    for (const now = Math.floor(atMs / HOUR_MS); hour < now; hour += 1) air.step()
    const minute = (atMs + offsetMs - localDay * DAY_MS) / 60_000
    return {
      water: today.water * waterShape(minute, photoperiod),
      growth: today.growth * growthShape(minute, photoperiod),
      light: Math.max(0, Math.sin(Math.PI * litShare(minute, photoperiod))),
      temperatureC: reservoir.temperatureC + warmth.value() + 1.2 * Math.sin(((minute - 540) / 1440) * 2 * Math.PI),
      logPco2: -3.3 + Math.max(-0.1, Math.min(0.1, air.value())),
    }
  }
}

type Photoperiod = Scenario['photoperiod']

/** How far through the lit hours the minute is, 0 to 1; outside them 0. */
function litShare(minute: number, { litFromMin, litUntilMin }: Photoperiod): number {
  const share = (minute - litFromMin) / (litUntilMin - litFromMin)
  return share > 0 && share < 1 ? share : 0
}

function waterShape(minute: number, photoperiod: Photoperiod): number {
  const lit = (photoperiod.litUntilMin - photoperiod.litFromMin) / 1440
  const share = litShare(minute, photoperiod)
  const dark = lit < 1 ? photoperiod.darkWaterShare / (1 - lit) : 0
  return share > 0 ? ((1 - photoperiod.darkWaterShare) / lit) * (Math.PI / 2) * Math.sin(Math.PI * share) : dark
}

/** Minutes of the second peak after the light goes. */
const PEAK_MIN = 180
const PEAK_EXCESS = 0.5

function growthShape(minute: number, photoperiod: Photoperiod): number {
  const litMin = photoperiod.litUntilMin - photoperiod.litFromMin
  const darkMin = 1440 - litMin
  if (litShare(minute, photoperiod) > 0) return ((1 - photoperiod.darkGrowthShare) / litMin) * 1440
  const peakMin = Math.min(PEAK_MIN, darkMin)
  const sinceDusk = (minute - photoperiod.litUntilMin + 1440) % 1440
  const weight = sinceDusk < peakMin ? 1 + PEAK_EXCESS : 1
  return (photoperiod.darkGrowthShare * weight * 1440) / (darkMin + PEAK_EXCESS * peakMin)
}
