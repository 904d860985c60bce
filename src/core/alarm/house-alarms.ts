/** Alarms of the house itself: what blinds or binds the daemon. Most of what else goes wrong follows from these. */

import type { AlarmDefinition } from './alarm-definition.ts'

const MINUTE_MS = 60_000

/** What nobody can know or do while nodes are not heard. */
const BLIND = [
  'readings-silent',
  'probe-silent',
  'probe-stuck',
  'probe-doubtful',
  'conductivity-outside',
  'ph-outside',
  'doses-refused',
  'dosing-idle',
  'element-unmeetable',
] as const

const NOT_DOSED = ['doses-refused', 'dosing-idle', 'element-unmeetable'] as const

export const HOUSE_ALARMS: readonly AlarmDefinition[] = [
  {
    id: 'link-down',
    priority: 'urgent',
    onDelayMs: ({ nodeSilentMs }) => nodeSilentMs,
    offDelayMs: MINUTE_MS,
    explains: ['nodes-silent', 'node-silent', ...BLIND],
    cause: 'The way to the pump nodes is down: the broker or the line does not answer',
    consequence: 'Nothing is known of flow and level, and nothing is dosed.',
    action: 'See whether the circulation runs, then look at broker, cable and network.',
    respondWithin: '1 hour in sun, 3 hours in the dark',
    find: ({ isLinkUp }) => (isLinkUp ? [] : [{}]),
  },
  {
    id: 'nodes-silent',
    priority: 'urgent',
    onDelayMs: () => MINUTE_MS,
    offDelayMs: MINUTE_MS,
    explains: ['node-silent', ...BLIND],
    cause: 'All pump nodes fell silent together: most likely the power is out in the room',
    consequence: 'The circulation stands as well where it has the same supply; nothing is dosed.',
    action: 'See whether the circulation runs, then look at fuse and supply.',
    respondWithin: '1 hour in sun, 3 hours in the dark',
    find: ({ nodes }, { nodeSilentMs }) =>
      nodes.length > 1 && nodes.every(({ silentMs }) => silentMs > nodeSilentMs) ? [{}] : [],
  },
  {
    id: 'node-silent',
    priority: 'urgent',
    onDelayMs: () => MINUTE_MS,
    offDelayMs: MINUTE_MS,
    explains: BLIND,
    cause: 'A pump node is silent',
    consequence: 'Nothing is known of what hangs on it, flow and level perhaps, and its pumps dose nothing.',
    action: 'See whether the circulation runs, then look at the node’s power and network.',
    respondWithin: '1 hour in sun, 3 hours in the dark',
    find: ({ nodes }, { nodeSilentMs }) =>
      nodes.filter(({ silentMs }) => silentMs > nodeSilentMs).map(({ node }) => ({ subject: node, detail: node })),
  },
  {
    id: 'disk-not-writable',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: NOT_DOSED,
    cause: 'The record cannot be written',
    consequence: 'Nothing is dosed: a dose that nobody wrote down could be given twice.',
    action: 'Free space, or replace the disk or card.',
    respondWithin: 'today',
    find: ({ isDiskWritable }) => (isDiskWritable ? [] : [{}]),
  },
  {
    id: 'clock-not-sane',
    priority: 'high',
    onDelayMs: () => MINUTE_MS,
    offDelayMs: 0,
    explains: NOT_DOSED,
    cause: 'The computer’s clock is behind its own record',
    consequence: 'Hours and days cannot be told apart, so nothing is dosed.',
    action: 'Look at the network time service and the clock’s battery.',
    respondWithin: 'today',
    find: ({ isClockSane }) => (isClockSane ? [] : [{}]),
  },
  {
    id: 'tripped',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: NOT_DOSED,
    cause: 'An interlock has tripped',
    consequence: 'Nothing is dosed until a technician has reset it.',
    action: 'Find what it names and mend it, then reset it: at the page under Alarms, or by tarnward reset.',
    respondWithin: 'today',
    find: ({ trips }) => trips.map(({ trip, why }) => ({ subject: trip, detail: why })),
  },
]
