/** Rows of what the probes say. */

import type { TwinLimits } from '../../../src/safety/limits.ts'
import { isNotChecked } from './past.ts'
import { isNotStuck, type ProbeStory, type Said } from './probe-story.ts'
import {
  type Asked,
  coveredLoss,
  flowingMs,
  highest,
  isFitted,
  isRation,
  lowest,
  ofRole,
  type Rows,
} from './wish-facts.ts'

const TWIN_ROLES = ['conductivity', 'ph', 'temperature', 'level', 'flow'] as const

export const PROBE: Rows = {
  'probe-present': (it) => all(it, () => true),
  'probe-not-from-future': (it) => all(it, ({ atMs }) => it.nowMs - atMs >= 0),
  'probe-fresh': (it) => all(it, ({ atMs }) => it.nowMs - atMs <= it.past.limits.scanAgeMaxMs),
  'probe-good': (it) => all(it, ({ quality }) => quality === 'good'),
  'probe-in-range': (it) => allInRange(it),
  'probe-not-stuck': (it) => all(it, (_said, story) => isNotStuck(it.past.limits, story)),
  'probes-agree': (it) => TWIN_ROLES.every((role) => agree(it, role)),
}

/** A ration is not asked for the one probe that it stands in for. */
function all(it: Asked, holds: (said: Said, story: ProbeStory) => boolean): boolean {
  const excused = isRation(it) ? coveredLoss(it) : null
  return it.past.probes.every((one) => one === excused || (one.last !== null && holds(one.last, one)))
}

function allInRange(it: Asked): boolean {
  const excused = isRation(it) ? coveredLoss(it) : null
  return it.past.probes.every((one) => {
    const { last, probe } = one
    if (one === excused && !isOnlySilent(it, one)) return true
    return last !== null && last.value >= probe.min && last.value <= probe.max
  })
}

/** Its last word was good, it only came too long ago: that word must still be in range. */
function isOnlySilent(it: Asked, story: ProbeStory): boolean {
  const { last } = story
  return last?.quality === 'good' && Number.isFinite(last.value) && isNotStuck(it.past.limits, story)
}

function agree(it: Asked, role: keyof TwinLimits): boolean {
  const twins = ofRole(it, role)
  const within = it.past.limits.twinsWithin?.[role]
  if (twins.length < 2 || isNotChecked(within)) return true
  if (isRation(it) && coveredLoss(it)?.probe.role === role) return true
  const apart = highest(it, role) - lowest(it, role)
  return typeof within === 'number' && within < Infinity && apart <= within
}

export const WATER: Rows = {
  'level-not-low': (it) => whereFitted(it, 'level', () => lowest(it, 'level') >= it.past.limits.levelMinL),
  'level-not-high': (it) => whereFitted(it, 'level', () => highest(it, 'level') <= it.past.limits.levelMaxL),
  'flow-running': (it) =>
    whereFitted(it, 'flow', () => lowest(it, 'flow') >= it.past.limits.flowMinLPerMin && flowingMs(it) >= 0),
  'flow-steady': (it) => whereFitted(it, 'flow', () => flowingMs(it) >= it.past.limits.flowSteadyMs),
}

function whereFitted(it: Asked, role: 'level' | 'flow', holds: () => boolean): boolean {
  return !isFitted(it, role) || holds()
}
