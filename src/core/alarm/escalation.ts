/** Who is told of an alarm, and when: the first person at once, the next when nobody has seen it, then again and again. */

import { type AlarmBoard, type AlarmChange, type AlarmStanding, consequencesOf } from './alarm-board.ts'
import { type AlarmDefinition, type AlarmPriority, alarmText, definitionOf } from './alarm-definition.ts'
import type { EscalationSettings } from './alarm-settings.ts'

export type NoticeKind = 'raised' | 'escalated' | 'repeated' | 'acknowledged' | 'shelved' | 'grouped' | 'over'

/** A message to named people. The same `id` is the same message, however often it is sent. */
export interface Notice {
  readonly id: string
  readonly kind: NoticeKind
  readonly to: readonly string[]
  readonly alarm: string
  readonly priority: AlarmPriority
  readonly atMs: number
  readonly raisedAtMs: number
  readonly cause: string
  readonly consequence: string
  readonly action: string
  readonly respondWithin: string
  /** all of it as one text */
  readonly text: string
  /** alarms that follow from this one */
  readonly consequences: readonly string[]
  readonly by?: string
}

export interface Told {
  readonly board: AlarmBoard
  readonly notices: readonly Notice[]
}

/** Notices that are due by now, and the board that remembers them; the very same board where none is. */
export function dueNotices(settings: EscalationSettings, board: AlarmBoard, atMs: number): Told {
  if (settings.people.length === 0) return { board, notices: [] }
  let next = board
  const notices: Notice[] = []
  for (const [alarm, standing] of Object.entries(board)) {
    const definition = definitionOf(alarm)
    if (!definition || standing.condition !== 'unacknowledged' || !isDue(settings, definition, standing, atMs)) continue
    const told = standing.told + 1
    next = { ...next, [alarm]: { ...standing, told, toldAtMs: atMs } }
    notices.push(noticeOf(settings, next, { alarm, definition, kind: kindOf(settings, told), atMs }))
  }
  return { board: next, notices }
}

/** What the people who were told of an alarm must hear when it is over, seen or put aside. */
export function noticeOfChange(
  settings: EscalationSettings,
  board: AlarmBoard,
  change: AlarmChange,
  atMs: number,
): Notice | undefined {
  const { alarm, definition, before, after } = change
  const kind = KIND_AFTER[after.condition]
  if (kind === undefined || before.told === 0 || isOver(before) || settings.people.length === 0) return undefined
  // what was grouped or put aside has been told as such; its end is the end of something nobody waits for
  if (before.condition === 'suppressed' || before.condition === 'shelved') return undefined
  const standing = { ...after, told: before.told, raisedAtMs: before.raisedAtMs, detail: before.detail }
  return noticeOf(settings, { ...board, [alarm]: standing }, { alarm, definition, kind, atMs })
}

/** After a restart nobody knows which messages went out: the last one of each alarm that waits goes out again. */
export function noticesAgain(settings: EscalationSettings, board: AlarmBoard, atMs: number): readonly Notice[] {
  if (settings.people.length === 0) return []
  return Object.entries(board).flatMap(([alarm, { condition, told }]) => {
    const definition = definitionOf(alarm)
    if (!definition || condition !== 'unacknowledged' || told === 0) return []
    return [noticeOf(settings, board, { alarm, definition, kind: kindOf(settings, told), atMs })]
  })
}

const KIND_AFTER: Partial<Record<AlarmStanding['condition'], NoticeKind>> = {
  normal: 'over',
  returned: 'over',
  latched: 'over',
  acknowledged: 'acknowledged',
  shelved: 'shelved',
  suppressed: 'grouped',
}

function isOver({ condition }: AlarmStanding): boolean {
  return condition === 'returned' || condition === 'latched'
}

/** Low ones are told once: nobody is woken for a bottle. */
function isDue(
  settings: EscalationSettings,
  { priority }: AlarmDefinition,
  { told, toldAtMs }: AlarmStanding,
  atMs: number,
): boolean {
  if (told === 0) return true
  if (priority === 'low') return false
  return atMs - (toldAtMs ?? 0) >= (told < settings.people.length ? settings.nextAfterMs : settings.repeatMs)
}

function kindOf({ people }: EscalationSettings, told: number): NoticeKind {
  if (told === 1) return 'raised'
  return told <= people.length ? 'escalated' : 'repeated'
}

function noticeOf(
  { people }: EscalationSettings,
  board: AlarmBoard,
  what: {
    readonly alarm: string
    readonly definition: AlarmDefinition
    readonly kind: NoticeKind
    readonly atMs: number
  },
): Notice {
  const { alarm, definition, kind, atMs } = what
  const { told, raisedAtMs, detail, by } = board[alarm]!
  const { priority, cause, consequence, action, respondWithin } = definition
  const since = raisedAtMs ?? atMs
  const isStep = kind === 'raised' || kind === 'escalated' || kind === 'repeated'
  return {
    id: `${alarm}@${since}#${isStep ? told : `${told}-${kind}`}`,
    kind,
    to: people.slice(0, Math.max(1, told)),
    alarm,
    priority,
    atMs,
    raisedAtMs: since,
    ...{ cause: detail === '' ? cause : `${cause} (${detail})`, consequence, action, respondWithin },
    text: isStep ? alarmText(definition, detail) : `${cause}: ${SAID[kind]}${by === undefined ? '' : ` by ${by}`}.`,
    consequences: consequencesOf(board, alarm),
    ...(by === undefined ? {} : { by }),
  }
}

const SAID = {
  acknowledged: 'seen',
  shelved: 'put aside',
  grouped: 'follows from another alarm',
  over: 'over',
} as const
