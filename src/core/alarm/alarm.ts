/** Looks at the facts and moves the board: raised after a delay, over after another, one cause one alarm. */

import {
  type AlarmBoard,
  type AlarmStanding,
  type BoardChange,
  isAtWork,
  isStanding,
  NORMAL,
  withStanding,
} from './alarm-board.ts'
import { ALARMS, type AlarmDefinition, alarmName, type Finding } from './alarm-definition.ts'
import type { AlarmFacts } from './alarm-facts.ts'
import type { AlarmSettings } from './alarm-settings.ts'

/** The board after a look at the facts, with what changed; the very same board when nothing did. */
export function watchAlarms(settings: AlarmSettings, board: AlarmBoard, facts: AlarmFacts): BoardChange {
  let change: BoardChange = { board, changes: [] }
  for (const definition of ALARMS) {
    const standsFor = (subject?: string): boolean => {
      const { condition } = board[alarmName(definition.id, subject)] ?? NORMAL
      return condition !== 'normal' && condition !== 'returned' && condition !== 'latched'
    }
    const findings = definition.find(facts, settings, standsFor)
    const names = namesOf(change.board, definition)
    if (findings.length === 0 && names.length === 0) continue
    const found = new Map(findings.map((finding) => [alarmName(definition.id, finding.subject), finding]))
    for (const name of new Set([...found.keys(), ...names])) {
      const before = change.board[name] ?? NORMAL
      const look: Look = { definition, settings, before, finding: found.get(name), atMs: facts.atMs }
      const after = lookAt(look, change.board)
      if (after !== before) change = withStanding(change, name, after)
    }
  }
  return change
}

function namesOf(board: AlarmBoard, { id }: AlarmDefinition): readonly string[] {
  return Object.keys(board).filter((name) => name === id || name.startsWith(`${id}:`))
}

interface Look {
  readonly definition: AlarmDefinition
  readonly settings: AlarmSettings
  readonly before: AlarmStanding
  readonly finding: Finding | undefined
  readonly atMs: number
}

/** One alarm’s next standing; the same object where nothing changes. */
function lookAt(look: Look, board: AlarmBoard): AlarmStanding {
  const { before, finding, atMs } = look
  if (before.condition === 'shelved') return onTheShelf(look)
  if (!finding) return isStanding(before) ? clearing(look) : gone(before)
  const under = causeOf(look, board)
  if (under !== undefined) return grouped(look, under)
  if (before.condition === 'suppressed') return { ...NORMAL, holdsSinceMs: atMs }
  if (isStanding(before)) return before.clearSinceMs === null ? before : { ...before, clearSinceMs: null }
  const holdsSinceMs = before.holdsSinceMs ?? atMs
  if (isDue(look, holdsSinceMs) && !isCausePending(look, board)) return raised(look, holdsSinceMs)
  return holdsSinceMs === before.holdsSinceMs ? before : { ...before, holdsSinceMs }
}

function isDue({ definition, settings, atMs }: Look, holdsSinceMs: number): boolean {
  return atMs - holdsSinceMs >= definition.onDelayMs(settings)
}

function raised({ finding, atMs }: Look, holdsSinceMs: number): AlarmStanding {
  return { ...NORMAL, condition: 'unacknowledged', holdsSinceMs, raisedAtMs: atMs, detail: finding?.detail ?? '' }
}

/** Over once the cause has been gone for the off-delay. */
function clearing({ definition, before, atMs }: Look): AlarmStanding {
  const clearSinceMs = before.clearSinceMs ?? atMs
  if (atMs - clearSinceMs < definition.offDelayMs)
    return clearSinceMs === before.clearSinceMs ? before : { ...before, clearSinceMs }
  const { told, toldAtMs, raisedAtMs, detail } = before
  const over = { ...NORMAL, told, toldAtMs, raisedAtMs, detail }
  if (definition.isLatching) return { ...over, condition: 'latched' }
  return before.condition === 'unacknowledged' ? { ...over, condition: 'returned' } : NORMAL
}

function gone(before: AlarmStanding): AlarmStanding {
  if (before.condition === 'suppressed') return NORMAL
  return before.holdsSinceMs === null ? before : { ...before, holdsSinceMs: null }
}

/** What is explained waits, once its cause is gone, for its own delay: probes need a moment after their node is back. */
function grouped(look: Look, under: string): AlarmStanding {
  const { before, finding, atMs } = look
  const holdsSinceMs = before.holdsSinceMs ?? atMs
  if (before.condition === 'suppressed' && before.under === under) return before
  if (!isStanding(before) && before.condition !== 'suppressed' && !isDue(look, holdsSinceMs))
    return holdsSinceMs === before.holdsSinceMs ? before : { ...before, holdsSinceMs }
  const { told, toldAtMs, raisedAtMs } = before
  const detail = finding?.detail ?? before.detail
  return { ...NORMAL, condition: 'suppressed', under, holdsSinceMs, detail, told, toldAtMs, raisedAtMs }
}

/** Unshelves by itself at its end: what still holds is raised at once, and told. */
function onTheShelf(look: Look): AlarmStanding {
  const { before, finding, atMs } = look
  const holdsSinceMs = finding ? (before.holdsSinceMs ?? atMs) : null
  if (atMs >= (before.untilMs ?? 0)) {
    if (finding && holdsSinceMs !== null && isDue(look, holdsSinceMs)) return raised(look, holdsSinceMs)
    return { ...NORMAL, holdsSinceMs }
  }
  return holdsSinceMs === before.holdsSinceMs ? before : { ...before, holdsSinceMs }
}

/** The first cause in the list that is at work and explains this; of a cause grouped itself, the one on top. */
function causeOf(look: Look, board: AlarmBoard): string | undefined {
  const name = explainers(look, board).find((candidate) => isAtWork(board[candidate] ?? NORMAL))
  const standing = name === undefined ? undefined : board[name]
  return standing?.condition === 'suppressed' ? (standing.under ?? name) : name
}

/** Whether a cause that would explain this is about to be raised: then the consequence must not come first. */
function isCausePending(look: Look, board: AlarmBoard): boolean {
  return explainers(look, board).some((name) => {
    const { condition, holdsSinceMs } = board[name] ?? NORMAL
    return condition === 'normal' && holdsSinceMs !== null
  })
}

/** Alarms of one probe explain what rests on that probe. */
const OF_A_PROBE: ReadonlySet<string> = new Set(['probe-silent', 'probe-stuck'])

function explainers({ definition, finding }: Look, board: AlarmBoard): readonly string[] {
  const names: string[] = []
  for (const cause of ALARMS) {
    if (!cause.explains.includes(definition.id)) continue
    for (const name of namesOf(board, cause)) {
      const isOtherNode =
        cause.id === 'node-silent' && finding?.node !== undefined && name !== `${cause.id}:${finding.node}`
      const isOtherProbe =
        OF_A_PROBE.has(cause.id) && finding?.probe !== undefined && name !== `${cause.id}:${finding.probe}`
      if (!isOtherNode && !isOtherProbe) names.push(name)
    }
  }
  return names
}
