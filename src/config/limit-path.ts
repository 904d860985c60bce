/**
 * The limits of a file one by one, each by its path: which way is looser, and how far it may be moved while the daemon
 * runs. Plain reading of parsed values, so that the loop may use it.
 */

import type { DeepReadonly } from './configuration.ts'
import type { LimitsFile } from './limits-schema.ts'

/** Which way a limit lets more be delivered; `fact` is no limit but a measure of what is there, such as a strength. */
export type Looser = 'higher' | 'lower' | 'fact'

/**
 * Every number that a limits file can hold; `*` stands for the name of a stock, an element or a probe’s role. A test
 * compares it with the schema, so that nobody adds a limit without saying which way is looser.
 */
export const LOOSER: Readonly<Record<string, Looser>> = {
  approvalMin: 'higher',
  'probes.scanAgeMaxS': 'higher',
  'probes.conductivityMinDsPerM': 'lower',
  'probes.conductivityMaxDsPerM': 'higher',
  'probes.phMin': 'lower',
  'probes.phMax': 'higher',
  'probes.temperatureMinC': 'lower',
  'probes.temperatureMaxC': 'higher',
  'probes.stuckMin': 'higher',
  'probes.stuckSlowMin': 'higher',
  'probes.twinsWithin.*': 'higher',
  'water.levelMinL': 'lower',
  'water.levelMaxL': 'higher',
  'water.flowMinLPerMin': 'lower',
  'water.flowSteadyMin': 'lower',
  'notFitted.capShare': 'higher',
  'commands.heartbeatAgeMaxS': 'higher',
  'commands.startWindowS': 'higher',
  // longer keeps the next shot waiting, shorter calls a late report unknown: neither lets more be delivered
  'commands.reportGraceS': 'fact',
  'stocks.*.shotMaxMl': 'higher',
  'stocks.*.hourMaxMl': 'higher',
  'stocks.*.dayMaxMl': 'higher',
  'stocks.*.gapMin': 'lower',
  'stocks.*.apart.*.min': 'lower',
  'stocks.*.bottle.volumeMl': 'fact',
  'stocks.*.bottle.sinceRefillMaxMl': 'higher',
  'stocks.*.bottle.firstShotMl': 'higher',
  'stocks.*.effect.conductivityDsPerMPerMlPerL': 'fact',
  'stocks.*.calibration.runMaxMl': 'higher',
  'stocks.*.calibration.dayMaxMl': 'higher',
  'effect.windowMin': 'fact',
  'effect.readingsMin': 'lower',
  'effect.driftSdDsPerM': 'fact',
  'effect.tolerance': 'higher',
  'effect.falseTripRisk': 'lower',
  'effect.missRisk': 'higher',
  'effect.unverifiedMaxDsPerM': 'higher',
  'effect.showDsPerM': 'fact',
  'acid.strengthMeqPerMl': 'fact',
  'acid.reservoirMinL': 'higher',
  'acid.shotMaxMeqPerL': 'higher',
  'acid.phFreshS': 'higher',
  'acid.afterFlowMin': 'lower',
  'acid.phFloor': 'lower',
  'acid.injection.rateMaxMeqPerL': 'higher',
  'acid.injection.circulationLPerMin': 'higher',
  'acid.buffering.sourceMeqPerL': 'higher',
  'acid.buffering.makeUpMaxLPerMin': 'higher',
  'acid.buffering.trimMeqPerHour': 'higher',
  'acid.buffering.trimMeqPerDay': 'higher',
  'acid.buffering.reservoirMeqPerL': 'higher',
  'acid.buffering.unmeteredMeqPerHour': 'higher',
  'base.strengthMeqPerMl': 'fact',
  'base.reservoirMinL': 'higher',
  'base.shotMaxMeqPerL': 'higher',
  'base.phFreshS': 'higher',
  'base.afterFlowMin': 'lower',
  'base.phCeiling': 'higher',
  'base.acidApartMin': 'lower',
  'elements.*.dayMaxMgPerL': 'higher',
  'ration.daysMost': 'higher',
  'ration.makeUpMaxLPerMin': 'higher',
  'ration.stocks.*.mlPerL': 'higher',
  'ration.stocks.*.dayMaxMl': 'higher',
}

export interface LimitInFile {
  /** as in the file, with dots; a wait by the name of the other stock: stocks.calcium.apart.phosphate.min */
  readonly path: string
  /** where it stands in the parsed file */
  readonly at: readonly (string | number)[]
  readonly value: number
  readonly looser: Looser
  /** the loosest that it may become while the daemon runs: the file’s ceiling, or its own value */
  readonly loosest: number
}

type FileLimits = DeepReadonly<LimitsFile>

/** Every limit that the file states, in its order. */
export function limitsInFile(file: FileLimits): readonly LimitInFile[] {
  return leavesOf(file, [], []).flatMap(({ names, at, value }) => {
    const path = names.join('.')
    const looser = looserOf(path)
    return looser === undefined ? [] : [{ path, at, value, looser, loosest: file.ceilings?.[path] ?? value }]
  })
}

/** Which way a path’s limit is looser; undefined for what is no limit of any file. */
export function looserOf(path: string): Looser | undefined {
  const own = LOOSER[path]
  if (own !== undefined) return own
  const parts = path.split('.')
  return Object.entries(LOOSER).find(([pattern]) => {
    const steps = pattern.split('.')
    return steps.length === parts.length && steps.every((step, at) => step === '*' || step === parts[at])
  })?.[1]
}

/** Whether a value lets no more be delivered than the loosest one. NaN does not. */
export function isWithin(looser: Looser, value: number, loosest: number): boolean {
  if (looser === 'fact') return value === loosest
  return looser === 'higher' ? value <= loosest : value >= loosest
}

/** The file’s limits with other values at some paths; a path the file has not is passed over. */
export function withLimits<File extends FileLimits>(file: File, values: Readonly<Record<string, number>>): File {
  return limitsInFile(file).reduce<File>((next, { path, at }) => {
    const value = values[path]
    return value === undefined ? next : (replaced(next, at, value) as File)
  }, file)
}

interface Leaf {
  readonly names: readonly string[]
  readonly at: readonly (string | number)[]
  readonly value: number
}

function leavesOf(here: unknown, names: readonly string[], at: readonly (string | number)[]): Leaf[] {
  if (typeof here === 'number') return [{ names, at, value: here }]
  if (Array.isArray(here)) {
    return here.flatMap((item: unknown, index) => {
      const from = typeof item === 'object' && item !== null && 'from' in item ? item.from : undefined
      return typeof from === 'string' ? leavesOf(item, [...names, from], [...at, index]) : []
    })
  }
  if (typeof here !== 'object' || here === null) return []
  return Object.entries(here).flatMap(([key, inner]) =>
    names.length === 0 && key === 'ceilings' ? [] : leavesOf(inner, [...names, key], [...at, key]),
  )
}

function replaced(here: unknown, at: readonly (string | number)[], value: number): unknown {
  const [key, ...rest] = at
  if (key === undefined) return value
  if (Array.isArray(here)) return here.map((item, index) => (index === key ? replaced(item, rest, value) : item))
  const map = here as Readonly<Record<string, unknown>>
  return { ...map, [key]: replaced(map[key], rest, value) }
}
