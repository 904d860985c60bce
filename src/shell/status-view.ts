/** The state in the words and units of people: one sentence first, then figures. */

import { ELEMENT_INDEX, ELEMENTS } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import type { Configuration } from '../config/configuration.ts'
import { estimateOf } from '../core/estimate/summary.ts'
import { benchBands } from '../core/plan/bands.ts'
import { needText } from '../core/plan/sample-need.ts'
import { approvedUntilMs } from '../reservoir/approval.ts'
import { coreSettings, safetyLimits } from '../reservoir/configure.ts'
import { configurationInForce } from '../reservoir/limit-change.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import { alarmViews } from './alarm-view.ts'
import type { Clock } from './clock.ts'
import type {
  AlarmView,
  ElementView,
  EstimateView,
  PlanView,
  ReadingView,
  SampleView,
  StatusView,
} from './daemon-view.ts'
import { standstillView } from './standstill-view.ts'

export interface StatusSource {
  readonly configuration: Configuration
  readonly reservoirId: string
  readonly version: string
  readonly clock: Clock
  readonly state: ReservoirState
  readonly head: StatusView['head']
}

/** How the reservoir is, what comes next, and what is wrong. */
export function statusView(source: StatusSource): StatusView {
  const { configuration, state } = source
  const { safety } = state
  const standing = alarmViews(state.alarms)
  const standstill = standstillView(state, source.clock.wallMs())
  const nextDoses = (state.core?.shots ?? []).map(({ stock, volumeUl, notBeforeMs }) => ({
    stock,
    volumeMl: volumeUl / 1000,
    atMs: notBeforeMs,
    reason: state.core?.plan?.doses.find((dose) => dose.stock === stock)?.reason ?? '',
  }))
  return {
    version: source.version,
    reservoir: source.reservoirId,
    atMs: source.clock.wallMs(),
    mode: safety.mode,
    held: safety.held !== null,
    sentence: sentence(configuration, state, standing),
    readings: readings(configuration, state, source.clock.wallMs()),
    nextDoses,
    ...planOf(configuration, state),
    ...sampleOf(state),
    notes: (state.core?.notes ?? []).map(({ kind, text, sinceMs }) => ({ kind, text, sinceMs })),
    alarms: standing,
    ...(standstill === undefined ? {} : { standstill }),
    trips: safety.trips.map(({ trip, why }) => ({ trip, why })),
    nodes: Object.entries(safety.nodes).map(([node, { online }]) => ({ node, online })),
    head: source.head,
  }
}

function sampleOf(state: ReservoirState): { readonly sample?: SampleView } {
  const need = state.core?.sample
  if (!need) return {}
  const elements = need.elements.map(({ element, byMs, sdShare }) => ({
    element,
    sdShare,
    ...(byMs === undefined ? {} : { neededByMs: byMs }),
  }))
  if (need.first === undefined) return { sample: { text: 'No sample is needed within two months.', elements } }
  const day = new Date(need.first.byMs).toLocaleDateString('en-GB', { day: 'numeric', month: 'long', timeZone: 'UTC' })
  const text = `The next sample is needed by ${day}: ${needText(need.first)}.`
  return { sample: { neededByMs: need.first.byMs, text, elements } }
}

function planOf(configuration: Configuration, state: ReservoirState): { readonly plan?: PlanView } {
  const plan = state.core?.plan
  if (!plan) return {}
  const untilMs = approvedUntilMs(safetyLimits(configurationInForce(configuration, state.changedLimits)), state)
  const approval = untilMs === undefined ? { isGiven: false } : { isGiven: true, untilMs }
  return {
    plan: {
      id: plan.id,
      atMs: plan.atMs,
      validUntilMs: Math.max(plan.untilMs, untilMs ?? 0),
      ...(state.safety.mode === 'advise' ? { approval } : {}),
      doses: plan.doses.map(({ stock, volumeUl, reason }) => ({ stock, volumeMl: volumeUl / 1000, reason })),
    },
  }
}

function sentence(configuration: Configuration, state: ReservoirState, standing: readonly AlarmView[]): string {
  const { safety } = state
  const now = standing.filter(({ state: how }) => how === 'unacknowledged' || how === 'acknowledged')
  const first = now.find((alarm) => alarm.priority === 'urgent') ?? now[0]
  if (first) return first.text
  if (safety.held) {
    const cost = standstillView(state, state.atMs)?.text
    const what = `Dosing is on hold by ${safety.held.by}: ${safety.held.reason}. ${HOW_TO_RELEASE}`
    return cost === undefined ? what : `${what} ${cost}`
  }
  const outside = elementsOutside(configuration, state)
  const how =
    outside.length === 0
      ? 'Every element is believed to be inside its band'
      : `${outside.join(', ')} believed outside the band`
  return `${how}; ${nextText(state)}.`
}

const HOW_TO_RELEASE = 'When the reason is gone, release it: at the page, or by tarnward release.'

function nextText(state: ReservoirState): string {
  const next = state.core?.shots[0]
  if (state.safety.mode === 'observe') return 'the mode is observe, so nothing is dosed'
  if (!next) return 'nothing is due to be dosed now'
  return `next, ${(next.volumeUl / 1000).toFixed(1)} mL of ${next.stock}`
}

function elementsOutside(configuration: Configuration, state: ReservoirState): string[] {
  const estimate = estimateView(configuration, state)
  if (!estimate) return []
  return Object.entries(estimate.elements)
    .filter(([, { mgPerL, band }]) => band && (mgPerL < band.lowMgPerL || mgPerL > band.highMgPerL))
    .map(([name]) => name)
}

/** Elements in mg/L with their bands; undefined before the first start. */
export function estimateView(configuration: Configuration, state: ReservoirState): EstimateView | undefined {
  const { core } = state
  if (!core) return undefined
  const estimate = estimateOf(core.history.filter)
  const bands = benchBands(coreSettings(configuration), core.cohorts, state.atMs)
  const elements = ELEMENTS.map((name): [string, ElementView] => {
    const { low, aim, high } = bands.elements[ELEMENT_INDEX[name]]!
    const band = { lowMgPerL: toMgPerL(name, low), aimMgPerL: toMgPerL(name, aim), highMgPerL: toMgPerL(name, high) }
    return [name, { ...estimate.elements[name], band }]
  })
  const { atMs, volumeL, alkalinityMeqPerL } = estimate
  return { atMs, volumeL, alkalinityMeqPerL, elements: Object.fromEntries(elements) }
}

const SHOWN = { conductivity: 'mS/cm', ph: '', level: 'L', temperature: '°C' } as const

function readings(configuration: Configuration, state: ReservoirState, nowMs: number): ReadingView[] {
  const views: ReadingView[] = []
  const { scanAgeMaxS } = configurationInForce(configuration, state.changedLimits).limits.probes
  for (const quantity of ['conductivity', 'ph', 'level', 'temperature'] as const) {
    const probe = configuration.site.probes.find((candidate) => candidate.role === quantity)
    const reading = probe && state.safety.readings[probe.id]
    if (!probe) continue
    const unit = SHOWN[quantity]
    if (!reading) {
      views.push({ quantity, unit, abnormal: 'no reading yet' })
      continue
    }
    const ageS = (nowMs - reading.atMs) / 1000
    const abnormal =
      reading.quality === 'bad'
        ? 'the probe says its reading is bad'
        : ageS > scanAgeMaxS
          ? `${Math.round(ageS)} s old`
          : undefined
    views.push({
      quantity,
      value: reading.value,
      unit,
      atMs: reading.atMs,
      ...(abnormal === undefined ? {} : { abnormal }),
    })
  }
  return views
}
