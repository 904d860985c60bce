/** The reservoir now, in the words of its page: what is wrong first. */

import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../../chemistry/element.ts'
import { toMgPerL } from '../../../chemistry/molar-mass.ts'
import { estimateOf } from '../../../core/estimate/summary.ts'
import { type BenchBands, benchBands } from '../../../core/plan/bands.ts'
import { forecastNext } from '../../../core/plan/forecast.ts'
import type { CoreState } from '../../../core/state.ts'
import type { DaemonView } from '../../daemon-view.ts'
import type { ElementNow, habits, Now, ProbeNow } from '../schema/status.ts'
import type { Site } from '../site.ts'
import { SDS_90 } from './belief.ts'
import { wrongs } from './wrong.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
const EVENTS_LOOKED_AT = 1

/** Everything the first view shows. */
export function nowView(site: Site, view: DaemonView): Now {
  const state = site.state()
  const { core, safety } = state
  const { version, reservoir, atMs, mode, sentence, nextDoses, alarms, standstill } = view.status()
  const elements = core ? elementsNow(site, core) : []
  const probes = probesNow(site, core)
  const estimate = core && estimateOf(core.history.filter)
  return {
    ...{ version, reservoir, atMs, mode, sentence, nextDoses: [...nextDoses], elements, probes },
    zone: site.configuration.site.zone,
    wrong: wrongs({ state, alarms, elements, probes }),
    ...(safety.held ? { hold: { by: safety.held.by, reason: safety.held.reason, sinceMs: safety.held.atMs } } : {}),
    ...(standstill === undefined ? {} : { standstill }),
    ...(estimate
      ? {
          volumeL: estimate.volumeL,
          sdVolumeL: estimate.sdVolumeL,
          alkalinityMeqPerL: estimate.alkalinityMeqPerL,
        }
      : {}),
    notFitted: site.configuration.site.notFitted.map(({ role, reason }) => ({ role, reason })),
    water: waterNow(site, core),
    sample: sampleNow(core, view, site.nowMs()),
    ...planNow(site, view),
    alarms: alarms.map((alarm) => ({ ...alarm, consequences: [...alarm.consequences] })),
    trips: safety.trips.map(({ trip, subject, why, atMs: trippedAtMs }) => ({ trip, subject, why, atMs: trippedAtMs })),
    nodes: Object.entries(safety.nodes).map(([node, { online, heartbeat }]) => ({
      ...{ node, online },
      ...(heartbeat ? { heardAtMs: heartbeat.atMs } : {}),
    })),
    cohorts: (core?.cohorts ?? []).map((cohort) => ({ ...cohort })),
    eventSequence: view.recentEvents(EVENTS_LOOKED_AT).at(-1)?.sequence ?? 0,
  }
}

const NAMES: Readonly<Record<ElementName, string>> = {
  'NO3-N': 'nitrate nitrogen',
  'NH4-N': 'ammonium nitrogen',
  P: 'phosphorus',
  K: 'potassium',
  Ca: 'calcium',
  Mg: 'magnesium',
  S: 'sulfur',
  Na: 'sodium',
  Cl: 'chloride',
  Fe: 'iron',
  Mn: 'manganese',
  Zn: 'zinc',
  B: 'boron',
  Cu: 'copper',
  Mo: 'molybdenum',
}
const HABIT_ORDER: readonly (typeof habits)[number][] = ['taken-quickly', 'with-the-water', 'left-behind']

function elementsNow(site: Site, core: CoreState): ElementNow[] {
  const { core: settings } = site.settings
  const estimate = estimateOf(core.history.filter)
  const bands = benchBands(settings, core.cohorts, site.nowMs())
  const fromMs = core.history.filter.atMs
  const day = forecastNext(settings, core.cohorts, core.history.filter, {
    ...{ fromMs, untilMs: fromMs + DAY_MS, utcOffsetMin: core.utcOffsetMin },
  })
  const newest = newestReport(core)
  const all = ELEMENTS.map((element): ElementNow => {
    const { mgPerL, sdMgPerL } = estimate.elements[element]
    const band = bandOf(bands, element)
    const half = SDS_90 * sdMgPerL
    const laboratory = newest?.values.find(({ elementIndex }) => elementIndex === ELEMENT_INDEX[element])
    return {
      ...{ element, name: NAMES[element], habit: habitOf(site, core, element), mgPerL, sdMgPerL, band },
      low90MgPerL: Math.max(0, mgPerL - half),
      high90MgPerL: mgPerL + half,
      place: mgPerL < band.lowMgPerL ? 'low' : mgPerL > band.highMgPerL ? 'high' : 'in-band',
      isDoubtful: 2 * half > band.highMgPerL - band.lowMgPerL,
      uptakeMgPerLPerDay: toMgPerL(element, day.uptakeMmol[ELEMENT_INDEX[element]]! / estimate.volumeL),
      ...(newest && laboratory
        ? {
            laboratory: {
              mgPerL: toMgPerL(element, laboratory.mmolPerL),
              sampledAtMs: newest.sampledAtMs,
              id: newest.id,
            },
          }
        : {}),
    }
  })
  return all.toSorted((one, other) => HABIT_ORDER.indexOf(one.habit) - HABIT_ORDER.indexOf(other.habit))
}

export function bandOf(bands: BenchBands, element: ElementName) {
  const { low, aim, high } = bands.elements[ELEMENT_INDEX[element]]!
  return { lowMgPerL: toMgPerL(element, low), aimMgPerL: toMgPerL(element, aim), highMgPerL: toMgPerL(element, high) }
}

/** By what drives its uptake in the crop that has most plants. */
function habitOf(site: Site, core: CoreState, element: ElementName): ElementNow['habit'] {
  const most = core.cohorts.toSorted((one, other) => other.plants - one.plants)[0]
  const crop = site.settings.core.crops.find(({ id }) => id === most?.crop) ?? site.settings.core.crops[0]
  const driver = crop?.drivers[ELEMENT_INDEX[element]]
  return driver === 'growth' ? 'taken-quickly' : driver === 'water' ? 'with-the-water' : 'left-behind'
}

function newestReport(core: CoreState) {
  const steps = [...core.history.stretches.flatMap((stretch) => stretch.steps), core.open]
  return steps.flatMap((step) => step.laboratory).toSorted((one, other) => other.sampledAtMs - one.sampledAtMs)[0]
}

/** What a probe’s reading is in once it is inside, whatever its node sends. */
export const INSIDE_UNITS: Readonly<Record<string, string>> = {
  conductivity: 'mS/cm',
  ph: '',
  level: 'L',
  temperature: '°C',
  flow: 'L/min',
  'top-up': 'L',
}

function probesNow(site: Site, core: CoreState | null): ProbeNow[] {
  const { site: file, limits } = site.configuration
  const { readings } = site.state().safety
  const expected = core && estimateOf(core.history.filter)
  return file.probes.map((probe): ProbeNow => {
    const quantity =
      probe.role in INSIDE_UNITS
        ? (probe.role as ProbeNow['quantity'])
        : probe.role === 'hold-switch'
          ? 'hold-switch'
          : 'other'
    const reading = readings[probe.id]
    const common = { probe: probe.id, quantity, unit: INSIDE_UNITS[probe.role] ?? '', ...guardOf(site, probe.role) }
    // A meter of make-up water is counted, not read: no interlock waits for it, so its silence is nothing wrong.
    if (!reading && probe.role === 'top-up') return { ...common, isStale: false }
    if (!reading) return { ...common, isStale: true, abnormal: 'no reading yet' }
    const ageS = (site.nowMs() - reading.atMs) / 1000
    const isStale = ageS > limits.probes.scanAgeMaxS
    const abnormal =
      reading.quality === 'bad'
        ? 'the probe says its reading is bad'
        : isStale
          ? `${Math.round(ageS)} s old`
          : undefined
    return {
      ...{ ...common, value: reading.value, atMs: reading.atMs, isStale },
      ...(abnormal === undefined ? {} : { abnormal }),
      ...(expected && quantity === 'conductivity' ? { expected: expected.conductivityDsPerM } : {}),
      ...(expected && quantity === 'level' ? { expected: expected.volumeL } : {}),
    }
  })
}

function guardOf(site: Site, role: string): { readonly min?: number; readonly max?: number } {
  const { probes, water } = site.configuration.limits
  switch (role) {
    case 'conductivity':
      return { min: probes.conductivityMinDsPerM, max: probes.conductivityMaxDsPerM }
    case 'ph':
      return { min: probes.phMin, max: probes.phMax }
    case 'temperature':
      return { min: probes.temperatureMinC, max: probes.temperatureMaxC }
    case 'level':
      return { min: water.levelMinL, max: water.levelMaxL }
    case 'flow':
      return { min: water.flowMinLPerMin }
    default:
      return {}
  }
}

/** What the make-up meter counted; where none is fitted nothing is said. */
function waterNow(site: Site, core: CoreState | null): Now['water'] {
  if (!core) return {}
  const steps = core.history.stretches.flatMap((stretch) => stretch.steps)
  if (!steps.some((step) => step.topUpL !== undefined)) return {}
  const since = (fromMs: number): number =>
    steps.filter((step) => step.endMs > fromMs).reduce((sum, step) => sum + (step.topUpL ?? 0), 0)
  const nowMs = site.nowMs()
  const localMs = nowMs + core.utcOffsetMin * 60_000
  return { usedTodayL: since(nowMs - (localMs % DAY_MS)), usedLastDayL: since(nowMs - DAY_MS) }
}

/** In hours up to two days, then in whole days. */
function tellAge(ageMs: number): string {
  const hours = Math.round(ageMs / HOUR_MS)
  return hours < 48 ? `${hours} h` : `${Math.round(ageMs / DAY_MS)} days`
}

function sampleNow(core: CoreState | null, view: DaemonView, nowMs: number): Now['sample'] {
  const sampledAtMs = core?.sampledAtMs ?? null
  const need = view.status().sample
  const last =
    sampledAtMs === null ? 'No laboratory report yet.' : `The last bottle is ${tellAge(nowMs - sampledAtMs)} old.`
  return {
    ...(sampledAtMs === null ? {} : { ageDays: (nowMs - sampledAtMs) / DAY_MS }),
    ...(need?.neededByMs === undefined ? {} : { dueInDays: (need.neededByMs - nowMs) / DAY_MS }),
    text: need ? `${last} ${need.text}` : last,
  }
}

function planNow(site: Site, view: DaemonView): Pick<Now, 'plan'> {
  const { plan, mode, notes } = view.status()
  if (!plan) return {}
  const isApproved = plan.approval?.isGiven ?? false
  return {
    plan: {
      ...{ id: plan.id, atMs: plan.atMs, untilMs: plan.validUntilMs, isApproved },
      waitsForApproval: mode === 'advise' && !isApproved && site.nowMs() < plan.validUntilMs,
      doses: [...plan.doses],
      notes: notes.map(({ text }) => text),
    },
  }
}
