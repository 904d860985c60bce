import type { Transition } from './happening.ts'
import { quietly } from './happening.ts'
import { type NodeState, nodeNamed, type SafetyState, withNode } from './state.ts'

/**
 * How many old boots of a node are kept to tell late messages by. No broker keeps a message for more than days; a node
 * that starts a thousand times while one is on its way starts every few minutes, and never gets to dose (judgement).
 */
const PAST_BOOTS_MAX = 1000

/** Whether a message of this boot is from before the boot the node is in now. */
export function isPastBoot(node: NodeState, boot: string): boolean {
  return node.pastBoots.includes(boot)
}

/** Takes a new boot of a node: its clock, its contract and what ran on it must be heard anew. */
export function adoptBoot(state: SafetyState, name: string, boot: string): Transition {
  const node = nodeNamed(state, name)
  if (node === undefined || node.boot === boot) return quietly(state)
  const pastBoots = node.boot === null ? node.pastBoots : [node.boot, ...node.pastBoots].slice(0, PAST_BOOTS_MAX)
  const pumps = Object.fromEntries(
    Object.entries(node.pumps).map(([id, pump]) => [id, { ...pump, runningId: null, maxRunMs: null, group: null }]),
  )
  const change = { boot, pastBoots, pumps, online: false, contractKnown: false, heartbeat: null }
  return { state: withNode(state, name, change), happenings: [{ kind: 'node-boot', node: name, boot }] }
}
