/**
 * Limits changed by a person while the daemon runs: an overlay over the limits file. What tightens always holds; what
 * loosens holds as far as the file’s ceiling. A file that was edited since has the last word on both.
 */

import type { Configuration } from '../config/configuration.ts'
import { isWithin, type LimitInFile, limitsInFile, withLimits } from '../config/limit-path.ts'
import { coreSettings } from './configure.ts'
import { safetyLimits } from './configure-limits.ts'
import type { Instruction } from './input.ts'
import type { ReservoirSettings } from './state.ts'

/** The last change of one limit. */
export interface LimitChange {
  readonly value: number
  /** the value in force before it */
  readonly from: number
  readonly by: string
  readonly reason: string
  readonly atMs: number
  /** it went back to what the file said, and follows the file from then on */
  readonly isAsFile: boolean
}

export type ChangedLimits = Readonly<Record<string, LimitChange>>

export type LimitInstruction = Extract<Instruction, { readonly instruction: 'limit' }>

/** The value of a limit in force. */
export function valueInForce(limit: LimitInFile, changed: ChangedLimits): number {
  const change = changed[limit.path]
  if (change === undefined || change.isAsFile) return limit.value
  // neither looser than the file’s ceiling nor a measure that only the file states
  return limit.looser !== 'fact' && isWithin(limit.looser, change.value, limit.loosest) ? change.value : limit.value
}

/** Why a limit cannot be changed so; undefined where it can. Bounds and order of limits are the configuration’s to check. */
export function limitRefused(
  settings: ReservoirSettings,
  changed: ChangedLimits,
  { limit: path, value, was }: LimitInstruction,
): string | undefined {
  const limit = settings.file && limitsInFile(settings.file.limits).find((candidate) => candidate.path === path)
  if (limit === undefined) return `the limits file has no limit ${path}; tarnward limit list names those it has`
  if (limit.looser === 'fact')
    return `${path} says what is there and is no limit; change it in the limits file, and start again`
  if (!Number.isFinite(value)) return `${path} needs a number, found ${value}`
  const now = valueInForce(limit, changed)
  if (was !== undefined && was !== now) return conflictText(path, was, now, changed[path])
  if (isWithin(limit.looser, value, limit.loosest)) return undefined
  const way = limit.looser === 'higher' ? 'at most' : 'at least'
  return (
    `${path}: found ${value}, from here ${way} ${limit.loosest}, which the limits file sets. ` +
    'To go beyond, raise its ceilings section with whoever answers for the file, and start again'
  )
}

function conflictText(path: string, was: number, now: number, change: LimitChange | undefined): string {
  const who = change === undefined ? '' : `; ${change.by} changed it (${change.reason})`
  return `${path} was ${was} when you looked and is ${now} now${who}. Look again, then decide`
}

/** The overlay with one more change. The record of it says what the file said then, so that a fold comes to the same. */
export function withChange(
  settings: ReservoirSettings,
  changed: ChangedLimits,
  word: { readonly atMs: number; readonly by: string; readonly reason: string; readonly instruction: LimitInstruction },
): ChangedLimits {
  const { atMs, by, reason, instruction } = word
  const { limit: path, value } = instruction
  const limit = settings.file && limitsInFile(settings.file.limits).find((candidate) => candidate.path === path)
  const from = limit ? valueInForce(limit, changed) : (changed[path]?.value ?? value)
  const isAsFile = value === (instruction.fileValue ?? limit?.value)
  return { ...changed, [path]: { value, from, by, reason, atMs, isAsFile } }
}

/** The instruction as it is recorded: with what the file said when it was given. */
export function asRecorded(settings: ReservoirSettings, instruction: LimitInstruction): LimitInstruction {
  const { limit: path, value } = instruction
  const limit = settings.file && limitsInFile(settings.file.limits).find((candidate) => candidate.path === path)
  return { instruction: 'limit', limit: path, value, ...(limit ? { fileValue: limit.value } : {}) }
}

/** Settings with the limits in force; the very same object for the same overlay, since every step asks. */
export function settingsInForce(settings: ReservoirSettings, changed: ChangedLimits): ReservoirSettings {
  if (settings.file === undefined || Object.keys(changed).length === 0) return settings
  const ofSettings = MADE.get(settings) ?? new WeakMap<ChangedLimits, ReservoirSettings>()
  MADE.set(settings, ofSettings)
  const made = ofSettings.get(changed) ?? overlaid(settings, settings.file, changed)
  ofSettings.set(changed, made)
  return made
}

const MADE = new WeakMap<ReservoirSettings, WeakMap<ChangedLimits, ReservoirSettings>>()

function overlaid(settings: ReservoirSettings, file: Configuration, changed: ChangedLimits): ReservoirSettings {
  const configuration = configurationInForce(file, changed)
  // the planner keeps below the guard on conductivity, so it must know where that stands
  const { planning } = coreSettings(configuration)
  return { ...settings, core: { ...settings.core, planning }, limits: safetyLimits(configuration) }
}

/** The configuration with the limits in force in place of the file’s. */
export function configurationInForce(file: Configuration, changed: ChangedLimits): Configuration {
  const values = limitsInFile(file.limits).map((limit) => [limit.path, valueInForce(limit, changed)] as const)
  return { ...file, limits: withLimits(file.limits, Object.fromEntries(values)) }
}
