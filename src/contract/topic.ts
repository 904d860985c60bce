/** Where messages travel: `<prefix>/<site>/<node>/…`, prefix `tarnward/v1` unless configured. */
export const TOPIC_PREFIX = 'tarnward/v1'

export type NodeTopic =
  | { readonly kind: 'status' | 'heartbeat' | 'scan'; readonly node: string }
  | { readonly kind: 'report'; readonly node: string; readonly pump: string }

export type DaemonTopic =
  | { readonly kind: 'lease'; readonly node: string }
  | { readonly kind: 'command'; readonly node: string; readonly pump: string }

export type Topic = NodeTopic | DaemonTopic

/** The topic as text below `base`, which is `<prefix>/<site>`. */
export function formatTopic(base: string, topic: Topic): string {
  const root = `${base}/${topic.node}`
  return topic.kind === 'report' || topic.kind === 'command'
    ? `${root}/pump/${topic.pump}/${topic.kind}`
    : `${root}/${topic.kind}`
}

/** The topic that a text names, or undefined where it is not one of the contract. */
export function parseTopic(base: string, text: string): Topic | undefined {
  if (!text.startsWith(`${base}/`)) return undefined
  const [node, head, pump, tail, ...rest] = text.slice(base.length + 1).split('/')
  if (!node || rest.length > 0) return undefined
  if (head === 'pump') {
    if (!pump || (tail !== 'report' && tail !== 'command')) return undefined
    return { kind: tail, node, pump }
  }
  if (pump !== undefined) return undefined
  if (head === 'status' || head === 'heartbeat' || head === 'scan' || head === 'lease') return { kind: head, node }
  return undefined
}

/** Whether a topic is written by a node (the rest is written by the daemon). */
export function isNodeTopic(topic: Topic): topic is NodeTopic {
  return topic.kind !== 'lease' && topic.kind !== 'command'
}

/** Subscriptions of a daemon: all nodes of its site. */
export function daemonSubscriptions(base: string): string[] {
  return [`${base}/+/status`, `${base}/+/heartbeat`, `${base}/+/scan`, `${base}/+/pump/+/report`]
}

/** Subscriptions of one node. */
export function nodeSubscriptions(base: string, node: string): string[] {
  return [`${base}/${node}/lease`, `${base}/${node}/pump/+/command`]
}
