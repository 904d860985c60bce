import { Counter, collectDefaultMetrics, Gauge, Registry } from 'prom-client'
import type { CountersView, DaemonView, EstimateView, ReadingView, StatusView } from './daemon-view.ts'

export interface Metrics {
  readonly contentType: string
  /** the daemon’s figures now, in Prometheus’ text format */
  render(): Promise<string>
}

interface Seen {
  readonly status: StatusView
  readonly estimate: EstimateView | undefined
  readonly counters: CountersView
}

type Labels = Readonly<Record<string, string>>
type Sample = readonly [labels: Labels, value: number]

interface Family {
  readonly name: string
  readonly help: string
  readonly kind: 'gauge' | 'counter'
  readonly labels: readonly string[]
  readonly samples: (seen: Seen) => readonly Sample[]
}

/** Base units and unit suffixes as Prometheus’ naming practice asks (https://prometheus.io/docs/practices/naming/). */
const FAMILIES: readonly Family[] = [
  gauge('ec_siemens_per_meter', 'Electrical conductivity at 25 °C', (seen) => reading(seen, 'conductivity', 0.1)),
  gauge('ph', 'pH', (seen) => reading(seen, 'ph', 1)),
  gauge('reservoir_temperature_celsius', 'Temperature of the solution', (seen) => reading(seen, 'temperature', 1)),
  gauge('reservoir_level_liters', 'Level as a volume', (seen) => reading(seen, 'level', 1)),
  gauge('reservoir_volume_estimate_liters', 'Estimated volume', ({ estimate }) =>
    estimate ? [[{}, estimate.volumeL]] : [],
  ),
  gauge('ion_concentration_grams_per_liter', 'Estimated concentration of an element', ions('mgPerL'), ['ion']),
  gauge('ion_stddev_grams_per_liter', 'Standard deviation of that estimate', ions('sdMgPerL'), ['ion']),
  gauge('held', '1 while a hold stops all dosing', ({ status }) => [[{}, Number(status.held)]]),
  gauge('alarms', 'Alarms of a priority in a state', alarmCounts, ['priority', 'state']),
  gauge('alarm_active', '1 for an alarm that stands', alarms, ['alarm', 'priority']),
  gauge(
    'node_online',
    '1 while a pump node is online',
    ({ status }) => status.nodes.map((node) => [{ node: node.node }, Number(node.online)]),
    ['node'],
  ),
  gauge(
    'probe_last_reading_timestamp_seconds',
    'When a probe was last heard',
    ({ counters }) => counters.probes.map((probe) => [{ probe: probe.probe }, probe.lastAtMs / 1000]),
    ['probe'],
  ),
  gauge('ledger_free_bytes', 'Room left on the ledger’s disk', ({ counters }) => [[{}, counters.ledgerFreeBytes]]),
  gauge('ledger_sequence', 'Entries in the ledger', ({ status }) => [[{}, status.head.sequence]]),
  gauge('build_info', '1, with the version', ({ status }) => [[{ version: status.version }, 1]], ['version']),
  counter(
    'doses_total',
    'Settled shots',
    ({ counters }) => counters.doses.map(({ pump, outcome, count }) => [{ pump, outcome }, count]),
    ['pump', 'outcome'],
  ),
  counter('dose_volume_liters_total', 'Volume that was or may have been delivered', volumes, ['pump']),
  counter(
    'interlock_trips_total',
    'Trips',
    ({ counters }) => counters.trips.map((trip) => [{ interlock: trip.interlock }, trip.count]),
    ['interlock'],
  ),
]

/** The daemon’s metrics in a registry of their own, each with its reservoir, read from the view at every scrape. */
export function createMetrics(view: DaemonView): Metrics {
  const registry = new Registry()
  collectDefaultMetrics({ register: registry })
  const settings = ({ name, help, labels }: Family) => ({
    name,
    help,
    labelNames: ['reservoir', ...labels],
    registers: [registry],
  })
  const gauges = FAMILIES.filter((family) => family.kind === 'gauge').map((family) => ({
    family,
    metric: new Gauge(settings(family)),
  }))
  const counters = FAMILIES.filter((family) => family.kind === 'counter').map((family) => ({
    family,
    metric: new Counter(settings(family)),
  }))
  return {
    contentType: registry.contentType,
    render: async () => {
      const seen: Seen = { status: view.status(), estimate: view.estimate(), counters: view.counters() }
      const samplesOf = (family: Family) =>
        family.samples(seen).map(([labels, value]) => [{ ...labels, reservoir: seen.status.reservoir }, value] as const)
      for (const { family, metric } of gauges) {
        metric.reset()
        for (const [labels, value] of samplesOf(family)) metric.set(labels, value)
      }
      for (const { family, metric } of counters) {
        metric.reset()
        for (const [labels, value] of samplesOf(family)) metric.inc(labels, value)
      }
      return registry.metrics()
    },
  }
}

function gauge(name: string, help: string, samples: Family['samples'], labels: readonly string[] = []): Family {
  return { name: `tarnward_${name}`, help, kind: 'gauge', labels, samples }
}

function counter(name: string, help: string, samples: Family['samples'], labels: readonly string[]): Family {
  return { name: `tarnward_${name}`, help, kind: 'counter', labels, samples }
}

/** 1 mS/cm is 0.1 S/m. */
function reading(seen: Seen, quantity: ReadingView['quantity'], factor: number): readonly Sample[] {
  const found = seen.status.readings.find((item) => item.quantity === quantity)
  return found?.value === undefined ? [] : [[{}, found.value * factor]]
}

function ions(field: 'mgPerL' | 'sdMgPerL'): Family['samples'] {
  return ({ estimate }) =>
    Object.entries(estimate?.elements ?? {}).map(([ion, element]) => [{ ion }, element[field] / 1000])
}

function alarms({ status }: Seen): readonly Sample[] {
  return status.alarms
    .filter(({ state }) => state === 'unacknowledged' || state === 'acknowledged')
    .map(({ alarm, priority }) => [{ alarm, priority }, 1])
}

const PRIORITIES = ['urgent', 'high', 'low'] as const
const STATES = ['unacknowledged', 'acknowledged', 'returned', 'latched', 'shelved'] as const

/** Every pair is there, so that a rule can tell 0 from unknown. */
function alarmCounts({ status }: Seen): readonly Sample[] {
  return PRIORITIES.flatMap((priority) =>
    STATES.map((state): Sample => {
      const count = status.alarms.filter((alarm) => alarm.priority === priority && alarm.state === state).length
      return [{ priority, state }, count]
    }),
  )
}

function volumes({ counters }: Seen): readonly Sample[] {
  const byPump = new Map<string, number>()
  for (const { pump, volumeUl } of counters.doses) byPump.set(pump, (byPump.get(pump) ?? 0) + volumeUl)
  return [...byPump].map(([pump, volumeUl]) => [{ pump }, volumeUl / 1e6])
}
