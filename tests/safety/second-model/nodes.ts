/** What is known of a pump node: its boot, whether it is there, what its pumps may do. */

import type { Limits } from '../../../src/safety/limits.ts'
import type { Answers } from './answers.ts'
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
  /** the clock of the last heartbeat or settling report, by pump */
  pumpClocks: Map<string, number>
  maxRunMs: Map<string, number>
  countedPumps: Set<string>
  running: Map<string, string>
  /** commands that a report may still end */
  readonly open: Set<string>
}

/** What is known of the node at this moment, from what it said since the last start. */
export function nodeNow(
  limits: Limits,
  told: readonly Told[],
  node: string,
  ask: { readonly atMs: number; readonly term: number | null; readonly answers: Answers },
): NodeNow {
  const heard = listen(told, node, ask.answers)
  const blocks: string[] = []
  if (heard.boot === null || heard.boot === '') blocks.push('boot not known')
  if (!heard.online) blocks.push('node not online')
  if (heard.contract !== 1) blocks.push('contract not known')
  const ageMs = heard.beat === null ? Number.NaN : ask.atMs - heard.beat.atMs
  if (!(ageMs >= 0 && ageMs <= limits.heartbeatAgeMaxMs)) blocks.push('heartbeat not fresh')
  if (!(heard.beat !== null && ask.term !== null && heard.beat.term <= ask.term)) blocks.push('node obeys a newer term')
  if (!(limits.startWindowMs > 0 && Number.isFinite(limits.startWindowMs))) blocks.push('no start window')
  if (heard.running.size > 0) blocks.push('a pump of the node runs')
  return { blocks, maxRunMs: heard.maxRunMs, countedPumps: heard.countedPumps }
}

function listen(told: readonly Told[], node: string, answers: Answers): Heard {
  const heard: Heard = { ...ofNewBoot(), boot: null, pastBoots: new Set(), open: new Set() }
  const startAt = lastStartIndex(told)
  told.forEach((event, index) => {
    // After a start the node must be heard again; what its boot once said of its pumps stays true of that boot.
    if (index === startAt) Object.assign(heard, { online: false, contract: null, beat: null })
    if (event.kind === 'shot' && event.sent.node === node) heard.open.add(event.sent.id)
    if (event.kind === 'status' && event.node === node) hearStatus(heard, event.status, answers)
    if (event.kind === 'heartbeat' && event.node === node) hearBeat(heard, event, answers)
    if (event.kind === 'report' && event.node === node) hearReport(heard, event)
  })
  return heard
}

function hearStatus(heard: Heard, status: Extract<Told, { kind: 'status' }>['status'], answers: Answers): void {
  if (!status.online && status.boot !== heard.boot && !answers.strangeWillCounts) return
  if (!adopt(heard, status.boot)) return
  heard.online = status.online
  heard.contract = status.contract
  if (!status.online) heard.beat = null
  else if (status.pumps !== undefined) heard.maxRunMs = new Map(status.pumps.map((pump) => [pump.id, pump.maxRunMs]))
}

function hearBeat(heard: Heard, event: Extract<Told, { kind: 'heartbeat' }>, answers: Answers): void {
  const { boot, uptimeMs, term, pumps } = event.heartbeat
  if (!adopt(heard, boot)) return
  // One with an older clock came late: it says nothing about now.
  if (heard.beat !== null && uptimeMs < heard.beat.uptimeMs) return
  // The same moment told again is no sign of life, yet what it says of pumps is heard.
  const isRepeated = heard.beat !== null && uptimeMs === heard.beat.uptimeMs && answers.sameClockIsLate
  if (isRepeated && heard.beat !== null) heard.beat.term = Math.max(heard.beat.term, term)
  else heard.beat = { uptimeMs, atMs: event.atMs, term }
  for (const pump of pumps) {
    if (uptimeMs < (heard.pumpClocks.get(pump.id) ?? 0)) continue
    heard.pumpClocks.set(pump.id, uptimeMs)
    heard.countedPumps.add(pump.id)
    if (pump.runningId === undefined) heard.running.delete(pump.id)
    else heard.running.set(pump.id, pump.runningId)
  }
}

function hearReport(heard: Heard, { pump, report }: Extract<Told, { kind: 'report' }>): void {
  const isLast = report.state !== 'accepted' && report.state !== 'running'
  if (!isLast || report.boot !== heard.boot || !heard.open.delete(report.id)) return
  heard.pumpClocks.set(pump, Math.max(report.uptimeMs, heard.pumpClocks.get(pump) ?? 0))
  if (heard.running.get(pump) === report.id) heard.running.delete(pump)
}

function ofNewBoot(): Omit<Heard, 'boot' | 'pastBoots' | 'open'> {
  return {
    online: false,
    contract: null,
    beat: null,
    pumpClocks: new Map(),
    maxRunMs: new Map(),
    countedPumps: new Set(),
    running: new Map(),
  }
}

/** False for a message of a boot that is past. A boot not heard before makes everything else unknown again. */
function adopt(heard: Heard, boot: string): boolean {
  if (heard.pastBoots.has(boot)) return false
  if (heard.boot === boot) return true
  if (heard.boot !== null) heard.pastBoots.add(heard.boot)
  Object.assign(heard, ofNewBoot(), { boot })
  return true
}
