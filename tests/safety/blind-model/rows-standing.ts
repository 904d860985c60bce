/** Rows of the house and its people, and of the node. */

import { isComplete } from './complete.ts'
import { notBlank } from './history.ts'
import { once, type Past, placeKey } from './past.ts'
import { type Asked, DAY_MS, isFitted, ofRole, type Rows } from './wish-facts.ts'

export const STANDING: Rows = {
  started: ({ past }) => past.started,
  'mode-acts': modeActs,
  'not-held': ({ past }) => !past.people.held,
  'hold-switch-open': (it) =>
    ofRole(it, 'hold-switch').every(({ last }) => {
      if (last === null || last.quality !== 'good') return false
      const ageMs = it.nowMs - last.atMs
      return ageMs >= 0 && ageMs <= it.past.limits.scanAgeMaxMs && last.value >= 0 && last.value < 0.5
    }),
  'not-sanitising': ({ past }) => past.people.sanitise === null,
  'not-tripped': ({ past }) => past.trips.length === 0,
  'disk-writable': (it) => isWell(it, 'disk'),
  'link-up': (it) => isWell(it, 'link'),
  'clock-sane': (it) => isWell(it, 'clock'),
  'limits-complete': ({ past, entry }) => entry !== null && isComplete(past.limits, entry),
  'sensors-declared': (it) =>
    isFitted(it, 'conductivity') &&
    isFitted(it, 'ph') &&
    (['level', 'flow'] as const).every((role) => isFitted(it, role) || isLeftOut(it, role)),
  'command-id-new': ({ past, commandId }) => {
    const open = past.orders.map((one) => one.command.id)
    return commandId !== '' && !open.includes(commandId) && !keptIds(past).includes(commandId)
  },
}

/** Said not to be there, with a reason. */
function isLeftOut({ past }: Asked, role: 'level' | 'flow'): boolean {
  return past.limits.notFitted.some((sensor) => sensor.role === role && notBlank(sensor.reason))
}

function modeActs({ past, wish, nowMs }: Asked): boolean {
  const { mode, approval } = past.people
  if (mode === 'automatic') return true
  if (mode !== 'advise' || approval === null || approval.planId !== wish.planId) return false
  const ageMs = nowMs - approval.atMs
  return ageMs >= 0 && ageMs <= past.limits.approvalMs
}

/** A settled row is kept until a tick finds that it left the day; what delivered nothing leaves none. */
function keptIds(past: Past): string[] {
  return once(past, 'kept ids', () => lookForIds(past))
}

function lookForIds({ history, deliveries }: Past): string[] {
  const tick = history.findLast((item) => item.what === 'tick')
  const sinceMs = (tick?.atMs ?? -Infinity) - DAY_MS
  return deliveries.filter((one) => one.endMs > sinceMs).map((one) => one.id)
}

function isWell({ past }: Asked, edge: 'link' | 'disk' | 'clock'): boolean {
  return once(past, edge, () => {
    const last = past.history.findLast((item) => item.what === 'edge' && item.edge === edge)
    return last?.what !== 'edge' || last.well
  })
}

export const NODE: Rows = {
  'node-online': (it) => nodeOf(it)?.online === true,
  'contract-known': (it) => nodeOf(it)?.contract === 1,
  'boot-known': (it) => (nodeOf(it)?.boot ?? '') !== '',
  'heartbeat-fresh': (it) => {
    const heartbeat = nodeOf(it)?.heartbeat ?? null
    if (heartbeat === null) return false
    const ageMs = it.nowMs - heartbeat.atMs
    return ageMs >= 0 && ageMs <= it.past.limits.heartbeatAgeMaxMs && heartbeat.uptimeMs + ageMs >= 0
  },
  'term-ours': (it) => (nodeOf(it)?.term ?? NaN) <= it.past.term,
  'pump-known': (it) => {
    const { past, entry } = it
    if (entry === null) return false
    const pump = past.pumps.get(placeKey(entry))
    const longestMs = nodeOf(it)?.maxRunMs.get(entry.pump) ?? NaN
    return pump !== undefined && longestMs > 0 && pump.totalRunMs >= 0 && pump.doubtMs >= 0
  },
  'pumps-idle': (it) => {
    const running = [...(nodeOf(it)?.running.values() ?? [])]
    return running.every((id) => id === null)
  },
  'one-at-a-time': ({ past, entry, nowMs }) =>
    !past.orders.some((one) => one.node === entry?.node && (!one.unknown || nowMs <= one.endMs)),
  'pump-settled': ({ past, entry }) => !past.orders.some((one) => one.node === entry?.node && one.pump === entry.pump),
  'settled-since-start': ({ past }) => !past.orders.some((one) => one.inherited),
}

function nodeOf({ past, entry }: Asked) {
  return entry === null ? null : (past.nodes.get(entry.node) ?? null)
}
