/** What an alarm is: its cause, its consequence, what to do, the time there is, and how it shows in the facts. */

import type { AlarmFacts } from './alarm-facts.ts'
import type { AlarmSettings } from './alarm-settings.ts'
import { CHEMISTRY_ALARMS } from './chemistry-alarms.ts'
import { HOUSE_ALARMS } from './house-alarms.ts'
import { PLANT_LIFE_ALARMS } from './plant-life-alarms.ts'

/** `urgent` is plant life within hours; `high` is today; `low` is this week. */
export type AlarmPriority = 'urgent' | 'high' | 'low'

/** One place where the cause holds now. */
export interface Finding {
  /** which node, probe, stock or element, where there may be several; each is an alarm of its own */
  readonly subject?: string
  /** the figures, as part of a sentence */
  readonly detail?: string
  /** the node it hangs on: only that node’s silence explains it */
  readonly node?: string
  /** the probe it rests on: only that probe’s own alarm explains it */
  readonly probe?: string
}

export interface AlarmDefinition {
  readonly id: string
  readonly priority: AlarmPriority
  readonly onDelayMs: (settings: AlarmSettings) => number
  /** the cause must be gone so long before the alarm is over */
  readonly offDelayMs: number
  /** stands, once raised, until a person has looked after the cause is gone as well */
  readonly isLatching?: boolean
  /** consequences: alarms that this one already explains are listed under it */
  readonly explains: readonly string[]
  readonly cause: string
  readonly consequence: string
  readonly action: string
  readonly respondWithin: string
  /** where the cause holds; a standing alarm needs more to clear than to be raised (deadband) */
  readonly find: (
    facts: AlarmFacts,
    settings: AlarmSettings,
    isStanding: (subject?: string) => boolean,
  ) => readonly Finding[]
}

/** Causes before their consequences, plant life before chemistry. */
export const ALARMS: readonly AlarmDefinition[] = [...HOUSE_ALARMS, ...PLANT_LIFE_ALARMS, ...CHEMISTRY_ALARMS]

const BY_ID = new Map(ALARMS.map((alarm) => [alarm.id, alarm]))

/** The name of an alarm: of its kind, or of its kind and what it is about, as in `node-silent:bench`. */
export function alarmName(id: string, subject: string | undefined): string {
  return subject === undefined ? id : `${id}:${subject}`
}

/** What kind of alarm a name is; undefined where there is none. */
export function definitionOf(name: string): AlarmDefinition | undefined {
  return BY_ID.get(name.split(':', 1)[0]!)
}

/** What an alarm says, with the figures of the moment: cause, consequence, action, time. */
export function alarmText(definition: AlarmDefinition, detail: string): string {
  const { cause, consequence, action, respondWithin } = definition
  const figures = detail === '' ? '' : ` (${detail})`
  return `${cause}${figures}. ${consequence} ${action} Time to respond: ${respondWithin}.`
}
