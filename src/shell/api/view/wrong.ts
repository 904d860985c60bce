/** What is not as it should be, worst first. */

import type { ReservoirState } from '../../../reservoir/state.ts'
import type { AlarmView } from '../../daemon-view.ts'
import type { Now } from '../schema/status.ts'

type Wrong = Now['wrong'][number]

interface Looked {
  readonly state: ReservoirState
  readonly alarms: readonly AlarmView[]
  readonly elements: Now['elements']
  readonly probes: Now['probes']
}

const ORDER = ['urgent', 'high', 'low']

/** One line each; what an alarm already says is not said again by its probe or node. */
export function wrongs({ state, alarms, elements, probes }: Looked): Wrong[] {
  const { safety } = state
  const standing = alarms.filter(({ state: condition }) => condition !== 'shelved' && condition !== 'returned')
  const found: Wrong[] = [
    ...standing.map(({ alarm, priority, text }): Wrong => ({ kind: 'alarm', priority, text, id: alarm })),
    ...safety.trips.map(
      ({ trip, why }): Wrong => ({ kind: 'trip', priority: 'high', text: `Tripped, ${trip}: ${why}`, id: trip }),
    ),
    ...(safety.held
      ? [{ kind: 'hold', priority: 'high', text: `On hold by ${safety.held.by}: ${safety.held.reason}` } as const]
      : []),
    ...(safety.diskWritable ? [] : [edge('the ledger cannot be written, so nothing is dosed')]),
    ...(safety.linkUp ? [] : [edge('the link to the pump nodes is down')]),
    ...(safety.clockSane ? [] : [edge('the clock is behind the ledger, so nothing is dosed')]),
    ...probes
      .filter(({ abnormal }) => abnormal !== undefined)
      .map(
        ({ probe, abnormal }): Wrong => ({ kind: 'probe', priority: 'high', text: `${probe}: ${abnormal}`, id: probe }),
      ),
    ...elements.filter(({ place }) => place === 'low' || place === 'high').map(outside),
  ]
  return found.toSorted((one, other) => ORDER.indexOf(one.priority) - ORDER.indexOf(other.priority))
}

function edge(text: string): Wrong {
  return { kind: 'edge', priority: 'high', text }
}

function outside({ element, name, mgPerL, band, place }: Now['elements'][number]): Wrong {
  const edgeMgPerL = place === 'low' ? band?.lowMgPerL : band?.highMgPerL
  const text = `${name} is believed ${place === 'low' ? 'below' : 'above'} its band: ${round(mgPerL)} mg/L, edge ${round(edgeMgPerL ?? 0)}`
  return { kind: 'element', priority: 'low', text, id: element }
}

function round(value: number): string {
  return String(Number(value.toPrecision(3)))
}
