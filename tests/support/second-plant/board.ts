import type {
  CommandMessage,
  LeaseMessage,
  NodeMessage,
  ReportMessage,
  ScanMessage,
  StatusMessage,
} from '../../../src/contract/message.ts'

export const MAX_RUN_MS = 240_000

/** What a board of this make leaves to its maker’s taste; the contract does not say. */
export interface BoardHabits {
  readonly heartbeatMs: number
  readonly scanMs: number
  /** a second copy of a command: tell again what became of the first, or refuse the copy */
  readonly secondCopy: 'tell-again' | 'refuse'
}

export interface BoardWiring {
  readonly pumps: readonly string[]
  /** pumps of one group may not run together */
  readonly group: string
  readonly probes: NonNullable<StatusMessage['probes']>
  readonly habits: BoardHabits
  bootName(count: number): string
  switchPump(pump: string, on: boolean, atMs: number): void
  read(atMs: number): ScanMessage['readings']
  send(atMs: number, message: NodeMessage): void
}

export interface Board {
  /** the next moment at which the board has something to do of itself */
  dueMs(): number
  /** does everything that is due at this moment */
  wake(atMs: number): void
  command(atMs: number, pump: string, message: CommandMessage): void
  lease(atMs: number, message: LeaseMessage): void
  /** power gone and back at once: the pumps stop, the broker speaks the will */
  powerCycle(atMs: number): void
  /** what it is, for whoever connects it again */
  status(): StatusMessage
}

interface Shot {
  readonly id: string
  readonly pump: string
  readonly runMs: number
  readonly startedMs: number
}

/** Survives a power cut. */
interface Memory {
  boots: number
  highestTerm: number
  readonly totalRunMs: Record<string, number>
  readonly doubtMs: Record<string, number>
  intended: { pump: string; runMs: number } | undefined
}

/** Gone with the power. */
interface Session {
  readonly boot: string
  readonly bootedMs: number
  lease: LeaseMessage | undefined
  shot: Shot | undefined
  nextBeatMs: number
  nextScanMs: number
  readonly obeyed: Map<string, { pump: string; state: ReportMessage['state']; ranMs: number; reason?: string }>
}

/**
 * A pump node that keeps the device contract, version 1. All pumps are one group, so there is at most one
 * shot. Times in are those of the world; all that the board says or compares is its own uptime.
 */
export function startBoard(wiring: BoardWiring, startMs: number): Board {
  const zeros = () => Object.fromEntries(wiring.pumps.map((pump) => [pump, 0]))
  const memory: Memory = { boots: 0, highestTerm: 0, totalRunMs: zeros(), doubtMs: zeros(), intended: undefined }
  let session = powerUp(startMs)

  function powerUp(atMs: number): Session {
    memory.boots += 1
    const boot = wiring.bootName(memory.boots)
    if (memory.intended) memory.doubtMs[memory.intended.pump]! += memory.intended.runMs
    memory.intended = undefined
    const nextScanMs = atMs + wiring.habits.scanMs
    return { boot, bootedMs: atMs, lease: undefined, shot: undefined, nextBeatMs: atMs, nextScanMs, obeyed: new Map() }
  }

  const uptime = (atMs: number) => atMs - session.bootedMs
  const ranOf = (pump: string, atMs: number) => (session.shot?.pump === pump ? atMs - session.shot.startedMs : 0)
  const totalOf = (pump: string, atMs: number) => (memory.totalRunMs[pump] ?? 0) + ranOf(pump, atMs)
  const leaseEndsMs = () => (session.lease ? session.bootedMs + session.lease.untilUptimeMs : Number.NEGATIVE_INFINITY)

  const status = (): StatusMessage => ({
    contract: 1,
    online: true,
    boot: session.boot,
    firmware: 'bench-board 2',
    pumps: wiring.pumps.map((id) => ({ id, maxRunMs: MAX_RUN_MS, group: wiring.group })),
    probes: [...wiring.probes],
  })

  const report = (
    atMs: number,
    pump: string,
    id: string,
    state: ReportMessage['state'],
    ranMs: number,
    reason?: string,
  ) => {
    const message: ReportMessage = {
      id,
      boot: session.boot,
      uptimeMs: uptime(atMs),
      state,
      ranMs,
      totalRunMs: totalOf(pump, atMs),
      ...(reason === undefined ? {} : { reason }),
    }
    wiring.send(atMs, { kind: 'report', pump, message })
  }

  const finish = (atMs: number, state: 'done' | 'stopped', reason?: string) => {
    const shot = session.shot
    if (!shot) return
    wiring.switchPump(shot.pump, false, atMs)
    const ranMs = atMs - shot.startedMs
    memory.totalRunMs[shot.pump]! += ranMs
    memory.intended = undefined
    session.shot = undefined
    session.obeyed.set(shot.id, { pump: shot.pump, state, ranMs, ...(reason === undefined ? {} : { reason }) })
    report(atMs, shot.pump, shot.id, state, ranMs, reason)
  }

  const tellAgain = (atMs: number, id: string) => {
    const past = session.obeyed.get(id)!
    const running = session.shot?.id === id
    report(atMs, past.pump, id, past.state, running ? ranOf(past.pump, atMs) : past.ranMs, past.reason)
  }

  const command = (atMs: number, pump: string, message: CommandMessage) => {
    wake(atMs)
    if (session.obeyed.has(message.id)) {
      if (wiring.habits.secondCopy === 'tell-again') tellAgain(atMs, message.id)
      else report(atMs, pump, message.id, 'refused', 0, 'this id was obeyed before')
      return
    }
    const reason = whyNot(atMs, pump, message)
    if (reason !== undefined) return report(atMs, pump, message.id, 'refused', 0, reason)
    report(atMs, pump, message.id, 'accepted', 0)
    memory.intended = { pump, runMs: message.runMs }
    session.shot = { id: message.id, pump, runMs: message.runMs, startedMs: atMs }
    session.obeyed.set(message.id, { pump, state: 'running', ranMs: 0 })
    wiring.switchPump(pump, true, atMs)
    report(atMs, pump, message.id, 'running', 0)
  }

  const whyNot = (atMs: number, pump: string, message: CommandMessage): string | undefined => {
    const { lease, shot } = session
    if (!wiring.pumps.includes(pump)) return `there is no ${pump} on this board`
    if (message.boot !== session.boot) return 'meant for another boot'
    if (message.term < memory.highestTerm) return `term ${message.term} is past, ${memory.highestTerm} is known`
    if (!lease || atMs >= leaseEndsMs()) return 'no living lease'
    if (message.controller !== lease.controller) return 'the lease is held by another controller'
    if (message.term !== lease.term) return `the lease is of term ${lease.term}`
    if (uptime(atMs) >= message.startBeforeUptimeMs) return 'came after its deadline'
    if (message.runMs > MAX_RUN_MS) return `longer than ${MAX_RUN_MS} ms`
    if (shot) return `${shot.pump} of the same group is running`
    return undefined
  }

  const lease = (atMs: number, message: LeaseMessage) => {
    wake(atMs)
    const living = session.lease !== undefined && atMs < leaseEndsMs()
    if (message.boot !== session.boot || message.term < memory.highestTerm) return
    if (living && session.lease?.controller !== message.controller) return
    memory.highestTerm = message.term
    session.lease = message.untilUptimeMs === 0 ? undefined : message
    if (message.untilUptimeMs === 0) finish(atMs, 'stopped', 'stopped by its controller')
    wake(atMs)
  }

  const beat = (atMs: number) => {
    const pumps = wiring.pumps.map((id) => ({
      id,
      totalRunMs: totalOf(id, atMs),
      doubtMs: memory.doubtMs[id] ?? 0,
      ...(session.shot?.pump === id ? { runningId: session.shot.id } : {}),
    }))
    const message = { boot: session.boot, uptimeMs: uptime(atMs), term: memory.highestTerm, pumps }
    wiring.send(atMs, { kind: 'heartbeat', message })
    session.nextBeatMs = atMs + wiring.habits.heartbeatMs
  }

  const scan = (atMs: number) => {
    const message = { boot: session.boot, uptimeMs: uptime(atMs), readings: wiring.read(atMs) }
    wiring.send(atMs, { kind: 'scan', message })
    session.nextScanMs = atMs + wiring.habits.scanMs
  }

  const wake = (atMs: number) => {
    const shot = session.shot
    if (shot && atMs >= shot.startedMs + shot.runMs) finish(atMs, 'done')
    if (session.shot && atMs >= leaseEndsMs()) finish(atMs, 'stopped', 'the lease ran out')
    if (atMs >= session.nextBeatMs) beat(atMs)
    if (atMs >= session.nextScanMs) scan(atMs)
  }

  const dueMs = () => {
    const { shot, nextBeatMs, nextScanMs } = session
    const endMs = shot ? Math.min(shot.startedMs + shot.runMs, leaseEndsMs()) : Number.POSITIVE_INFINITY
    return Math.min(nextBeatMs, nextScanMs, endMs)
  }

  const announce = (atMs: number) => wiring.send(atMs, { kind: 'status', message: status() })

  const powerCycle = (atMs: number) => {
    wake(atMs)
    if (session.shot) wiring.switchPump(session.shot.pump, false, atMs)
    wiring.send(atMs, { kind: 'status', message: { contract: 1, online: false, boot: session.boot } })
    session = powerUp(atMs)
    announce(atMs)
  }

  announce(startMs)
  return { dueMs, wake, command, lease, powerCycle, status }
}
