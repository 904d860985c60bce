/** Alarms about the plants’ lives. Film roots wilt in 1–3 h of hot sun without flow; Pythium thrives above 25 °C. */

import type { AlarmDefinition } from './alarm-definition.ts'

const MINUTE_MS = 60_000
/** A flow or a level must come back by so much beyond its limit before the alarm is over: more than a probe’s noise. */
const FLOW_DEADBAND = 1.1
const LEVEL_DEADBAND = 0.02
const WATER_DEADBAND_C = 1
const LOSS_DEADBAND = 0.7

const figure = (value: number, digits = 1): string => value.toFixed(digits)

export const PLANT_LIFE_ALARMS: readonly AlarmDefinition[] = [
  {
    id: 'leak',
    priority: 'urgent',
    onDelayMs: () => 0,
    offDelayMs: 5 * MINUTE_MS,
    isLatching: true,
    explains: ['water-lost', 'level-low'],
    cause: 'A leak probe is wet',
    consequence: 'Solution runs out; the pump will run dry and the roots with it.',
    action: 'Find the water, close the make-up, catch what runs. Mind mains plugs near water.',
    respondWithin: '15 minutes',
    find: ({ wet }) => wet.map((probe) => ({ subject: probe, detail: probe })),
  },
  {
    id: 'no-flow',
    priority: 'urgent',
    onDelayMs: ({ flowDelayMs }) => flowDelayMs,
    offDelayMs: 0,
    // standing water drains back and is not mixed: the level rises, and EC and pH are those of one corner
    explains: [
      'level-high',
      'conductivity-outside',
      'ph-outside',
      'probe-doubtful',
      'probe-stuck',
      'doses-refused',
      'dosing-idle',
      'element-unmeetable',
    ],
    cause: 'The circulation has stopped',
    consequence: 'Roots in film channels wilt within 1 to 3 hours of sun; EC and pH tell nothing of standing water.',
    action: 'Look at pump, power and filter now.',
    respondWithin: '1 hour in sun, 3 hours in the dark',
    find: ({ flowLPerMin, flowMinLPerMin }, _settings, isStanding) =>
      isSo(flowLPerMin, isStanding(), (flow) => flow < flowMinLPerMin * (isStanding() ? FLOW_DEADBAND : 1))
        ? [{ detail: `${shown(flowLPerMin, 'L/min', 1)}, at least ${figure(flowMinLPerMin)} are needed` }]
        : [],
  },
  {
    id: 'level-low',
    priority: 'high',
    onDelayMs: ({ levelDelayMs }) => levelDelayMs,
    offDelayMs: 0,
    explains: ['water-lost', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'The level is low: a leak, or make-up water that does not come',
    consequence: 'The pump may run dry within hours.',
    action: 'Look at valve and floor.',
    respondWithin: '3 hours',
    find: ({ levelL, levelMinL }, _settings, isStanding) =>
      isSo(levelL, isStanding(), (level) => level < levelMinL * (isStanding() ? 1 + LEVEL_DEADBAND : 1))
        ? [{ detail: `${shown(levelL, 'L', 0)}, at least ${figure(levelMinL, 0)}` }]
        : [],
  },
  {
    id: 'level-high',
    priority: 'high',
    onDelayMs: ({ levelDelayMs }) => levelDelayMs,
    offDelayMs: 0,
    explains: ['water-lost', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'The level is high: the make-up valve may be stuck open',
    consequence: 'The solution is diluted and runs over.',
    action: 'Close the make-up water.',
    respondWithin: '1 hour',
    find: ({ levelL, levelMaxL }, _settings, isStanding) =>
      isSo(levelL, isStanding(), (level) => level > levelMaxL * (isStanding() ? 1 - LEVEL_DEADBAND : 1))
        ? [{ detail: `${shown(levelL, 'L', 0)}, at most ${figure(levelMaxL, 0)}` }]
        : [],
  },
  {
    id: 'water-lost',
    priority: 'high',
    onDelayMs: () => 10 * MINUTE_MS,
    offDelayMs: 10 * MINUTE_MS,
    explains: ['probe-doubtful', 'element-unmeetable'],
    cause: 'Water leaves faster than any crop drinks',
    consequence: 'There is a leak, or somebody drained the reservoir and did not log it.',
    action: 'Look at the floor and at drain, fittings and channel ends; log a drain if there was one.',
    respondWithin: '1 hour',
    find: ({ waterLossLPerH, waterLossMaxLPerH }, _settings, isStanding) =>
      waterLossLPerH !== undefined && waterLossLPerH > waterLossMaxLPerH * (isStanding() ? LOSS_DEADBAND : 1)
        ? [{ detail: `${figure(waterLossLPerH)} L/h, the crop takes at most ${figure(waterLossMaxLPerH)}` }]
        : [],
  },
  {
    id: 'water-warm',
    priority: 'high',
    onDelayMs: ({ waterDelayMs }) => waterDelayMs,
    offDelayMs: 0,
    explains: [],
    cause: 'The solution is too warm',
    consequence: 'Roots lack oxygen, and rot sets in within days.',
    action: 'Shade, chill or aerate.',
    respondWithin: 'today',
    find: ({ temperatureC }, { waterWarmC }, isStanding) =>
      isSo(temperatureC, isStanding(), (celsius) => celsius > waterWarmC - (isStanding() ? WATER_DEADBAND_C : 0))
        ? [{ detail: shown(temperatureC, '°C', 1) }]
        : [],
  },
  {
    id: 'water-cold',
    priority: 'high',
    onDelayMs: ({ waterDelayMs }) => waterDelayMs,
    offDelayMs: 0,
    explains: [],
    cause: 'The solution is too cold',
    consequence: 'Growth and uptake stand still; frost bursts pipes.',
    action: 'Look at heater and frost protection.',
    respondWithin: 'today',
    find: ({ temperatureC }, { waterColdC }, isStanding) =>
      isSo(temperatureC, isStanding(), (celsius) => celsius < waterColdC + (isStanding() ? WATER_DEADBAND_C : 0))
        ? [{ detail: shown(temperatureC, '°C', 1) }]
        : [],
  },
]

/** A probe that falls silent raises nothing here, and does not end what it had shown. */
function isSo(value: number | undefined, isStanding: boolean, isWrong: (value: number) => boolean): boolean {
  return value === undefined || Number.isNaN(value) ? isStanding : isWrong(value)
}

function shown(value: number | undefined, unit: string, digits: number): string {
  return value === undefined ? 'no reading now' : `${figure(value, digits)} ${unit}`
}
