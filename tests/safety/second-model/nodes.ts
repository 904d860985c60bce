/** What is known of a pump node: its boot, whether it is there, what its pumps may do. */

import type { Limits } from '../../../src/safety/limits.ts'
import { lastStartIndex, type Told } from './told.ts'

export interface NodeNow {
  readonly blocks: readonly string[]
  /** longest run by pump, as the node told on this boot */
  readonly maxRunMs: ReadonlyMap<string, number>
  /** pumps whose totaliser was heard on this boot */
  readonly countedPumps: ReadonlySet<string>
}

interface Heard {
  boot: string | null
  readonly pastBoots: Set<string>
  online: boolean
  contract: number | null
  beat: { uptimeMs: number; atMs: number; term: number } | null
  maxRunMs: Map<string, number>
  countedPumps: Set<string>
  runningIds: string[]
}

/** What is known of the node at this moment, from what it said since the last start. */
export function nodeNow(
  limits: Limits,
  told: readonly Told[],
  node: string,
  ask: { readonly atMs: number; readonly term: number | null },
): NodeNow {
  const heard = listen(told, node)
  const blocks: string[] = []
  if (heard.boot === null) blocks.push('boot not known')
  if (!heard.online) blocks.push('node not online')
  if (heard.contract !== 1) blocks.push('contract not known')
  const ageMs = heard.beat === null ? Number.NaN : ask.atMs - heard.beat.atMs
  if (!(ageMs >= 0 && ageMs <= limits.heartbeatAgeMaxMs)) blocks.push('heartbeat not fresh')
  if (!(heard.beat !== null && ask.term !== null && heard.beat.term <= ask.term)) blocks.push('node obeys a newer term')
  if (!(limits.startWindowMs > 0 && Number.isFinite(limits.startWindowMs))) blocks.push('no start window')
  if (heard.runningIds.length > 0) blocks.push('a pump of the node runs')
  return { blocks, maxRunMs: heard.maxRunMs, countedPumps: heard.countedPumps }
}

function listen(told: readonly Told[], node: string): Heard {
  const heard: Heard = { ...silent(), pastBoots: new Set() }
  const startAt = lastStartIndex(told)
  told.forEach((event, index) => {
    if (index === startAt) Object.assign(heard, silent(), { boot: heard.boot })
    if (event.kind === 'status' && event.node === node) {
      if (!adopt(heard, event.status.boot)) return
      heard.online = event.status.online
      heard.contract = event.status.contract
      for (const pump of event.status.pumps ?? []) heard.maxRunMs.set(pump.id, pump.maxRunMs)
    }
    if (event.kind === 'heartbeat' && event.node === node) {
      const { boot, uptimeMs, term, pumps } = event.heartbeat
      if (!adopt(heard, boot)) return
      // One with an older clock came late: it says nothing about now.
      if (heard.beat !== null && !(uptimeMs > heard.beat.uptimeMs)) return
      heard.beat = { uptimeMs, atMs: event.atMs, term }
      heard.countedPumps = new Set(pumps.map((pump) => pump.id))
      heard.runningIds = pumps.flatMap((pump) => (pump.runningId === undefined ? [] : [pump.runningId]))
    }
  })
  return heard
}

function silent(): Omit<Heard, 'pastBoots'> {
  return {
    boot: null,
    online: false,
    contract: null,
    beat: null,
    maxRunMs: new Map(),
    countedPumps: new Set(),
    runningIds: [],
  }
}

/** False for a message of a boot that is past. A boot not heard before makes everything else unknown again. */
function adopt(heard: Heard, boot: string): boolean {
  if (heard.pastBoots.has(boot)) return false
  if (heard.boot === boot) return true
  if (heard.boot !== null) heard.pastBoots.add(heard.boot)
  Object.assign(heard, silent(), { boot })
  return true
}
