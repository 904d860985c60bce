/** What is known of one node, told from its messages in order. */

import type { Heartbeat, History, Item } from './history.ts'

export interface NodeStory {
  readonly online: boolean
  /** version of the contract as the last “online” of this boot since the start had it; NaN where there was none */
  readonly contract: number
  /** the boot the node is on now, null where nobody said */
  readonly boot: string | null
  /** the last heartbeat whose time counts, of this boot */
  readonly heartbeat: Heartbeat | null
  /** the greatest term said on this boot since that heartbeat */
  readonly term: number
  /** pump by pump, what the last heartbeat that was listened to says is running */
  readonly running: ReadonlyMap<string, string | null>
  /** longest run by pump, as last declared */
  readonly maxRunMs: ReadonlyMap<string, number>
  /** heartbeats that were listened to */
  readonly heard: ReadonlySet<Item>
}

/** Late words of an earlier boot are nobody’s; an uptime that falls within a boot is a late one too. */
export function nodeStory(history: History, node: string, before = history.length): NodeStory {
  const past = new Set<string>()
  const heard = new Set<Item>()
  const running = new Map<string, string | null>()
  const maxRunMs = new Map<string, number>()
  let online = false
  let contract = NaN
  let boot: string | null = null
  let heartbeat: Heartbeat | null = null
  let term = NaN
  for (let at = 0; at < before; at += 1) {
    const item = history[at]!
    if (item.what === 'start') [online, contract, heartbeat, term] = [false, NaN, null, NaN]
    if ((item.what !== 'status' && item.what !== 'heartbeat') || item.node !== node || past.has(item.boot)) continue
    if (item.what === 'status' && !item.online && item.boot !== boot) continue
    if (item.boot !== boot) {
      if (boot !== null) past.add(boot)
      boot = item.boot
      ;[online, contract, heartbeat, term] = [false, NaN, null, NaN]
      running.clear()
      maxRunMs.clear()
    }
    if (item.what === 'status') {
      online = item.online
      if (online) contract = item.contract
      if (!item.online) [heartbeat, term] = [null, NaN]
      if (item.pumps !== null && item.online) maxRunMs.clear()
      for (const pump of item.pumps ?? []) maxRunMs.set(pump.id, pump.maxRunMs)
      continue
    }
    if (heartbeat !== null && item.uptimeMs < heartbeat.uptimeMs) continue
    heard.add(item)
    for (const pump of item.pumps) running.set(pump.id, pump.runningId)
    if (heartbeat !== null && item.uptimeMs === heartbeat.uptimeMs) term = Math.max(term, item.term)
    else [heartbeat, term] = [item, item.term]
  }
  return { online, contract, boot, heartbeat, term, running, maxRunMs, heard }
}
