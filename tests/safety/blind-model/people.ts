/** What people ordered and did, as far as it still stands. */

import type { Limits } from '../../../src/safety/limits.ts'
import type { Mode } from '../../../src/safety/types.ts'
import { type History, type Item, notBlank } from './history.ts'

const RANK: Readonly<Record<Mode, number>> = { observe: 0, advise: 1, automatic: 2 }

export interface People {
  mode: Mode
  approval: { readonly planId: string; readonly atMs: number } | null
  held: boolean
  sanitise: { readonly phase: 'sanitising' | 'to-rinse' | 'to-check'; readonly sinceMs: number } | null
  rationMs: number | null
}

export function peopleStory(history: History, limits: Limits): People {
  const people: People = { mode: limits.mode, approval: null, held: false, sanitise: null, rationMs: null }
  for (const item of history) {
    order(people, item, limits)
    clean(people, item)
  }
  return people
}

function order(people: People, item: Item, limits: Limits): void {
  if (item.what === 'start') people.approval = null
  else if (item.what === 'mode') {
    if (RANK[item.mode] > RANK[people.mode] && !isSigned(item)) return
    people.mode = item.mode
    people.approval = null
  } else if (item.what === 'approve') {
    if (isSigned(item)) people.approval = { planId: item.planId, atMs: item.atMs }
  } else if (item.what === 'hold') {
    people.held = true
    people.approval = null
  } else if (item.what === 'release') {
    if (isSigned(item)) people.held = false
  } else if (item.what === 'ration') {
    if (!item.approve) people.rationMs = null
    else if (limits.ration !== undefined && isSigned(item)) people.rationMs = item.atMs
  }
}

function clean(people: People, item: Item): void {
  const { sanitise } = people
  if (item.what === 'sanitise' && item.begin) {
    people.sanitise = { phase: 'sanitising', sinceMs: item.atMs }
    people.approval = null
  } else if (item.what === 'sanitise' && sanitise?.phase === 'sanitising' && isSigned(item))
    people.sanitise = { phase: 'to-rinse', sinceMs: item.atMs }
  else if (item.what === 'rinsed' && sanitise?.phase === 'to-rinse' && isWithin(item, sanitise.sinceMs))
    people.sanitise = { phase: 'to-check', sinceMs: item.doneAtMs }
  else if (item.what === 'probe-checked' && sanitise?.phase === 'to-check' && isWithin(item, sanitise.sinceMs))
    people.sanitise = null
}

function isWithin(act: { readonly doneAtMs: number; readonly atMs: number }, sinceMs: number): boolean {
  return sinceMs <= act.doneAtMs && act.doneAtMs <= act.atMs
}

export function isSigned(word: { readonly by: string; readonly reason: string }): boolean {
  return notBlank(word.by) && notBlank(word.reason)
}
