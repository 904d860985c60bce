/** The whole history looked through once, for every wish that is asked at its end. */

import type { Limits } from '../../../src/safety/limits.ts'
import { type EffectStory, effectStory } from './effect-story.ts'
import { type History, notBlank } from './history.ts'
import { type NodeStory, nodeStory } from './node-story.ts'
import { isSigned, type People, peopleStory } from './people.ts'
import { type MeterStory, meterStory, type ProbeStory, probeStory } from './probe-story.ts'
import { type Delivery, type Order, type PumpPlace, type PumpStory, pumpStory, type TripMark } from './pump-story.ts'

export interface Past {
  readonly history: History
  readonly limits: Limits
  readonly people: People
  readonly nodes: ReadonlyMap<string, NodeStory>
  readonly pumps: ReadonlyMap<string, PumpStory>
  readonly deliveries: readonly Delivery[]
  readonly orders: readonly Order[]
  readonly effects: EffectStory
  readonly probes: readonly ProbeStory[]
  readonly meter: MeterStory
  /** latched and not reset since */
  readonly trips: readonly TripMark[]
  /** the last start had a term above every accepted one before */
  readonly started: boolean
  /** of the last start that was accepted; NaN where none was */
  readonly term: number
  /** what was looked up already at this very end of the history */
  readonly found: Map<string, unknown>
}

/** Looks a thing up once, however many wishes ask for it. */
export function once<T>(past: Past, name: string, look: () => T): T {
  if (!past.found.has(name)) past.found.set(name, look())
  return past.found.get(name) as T
}

export function lookThrough(history: History, limits: Limits): Past {
  const places = placesOf(history, limits)
  const nodes = new Map(places.map(({ node }) => [node, nodeStory(history, node)]))
  const pumps = new Map(places.map((one) => [placeKey(one), pumpStory(history, limits, one, nodes.get(one.node)!)]))
  const stories = [...pumps.values()]
  const deliveries = stories.flatMap((one) => one.deliveries).sort((a, b) => a.at - b.at)
  const effects = effectStory(
    history,
    limits,
    deliveries,
    stories.flatMap((one) => one.ordered),
  )
  return {
    history,
    limits,
    people: peopleStory(history, limits),
    nodes,
    pumps,
    deliveries,
    orders: stories.flatMap((one) => one.orders),
    effects,
    probes: limits.probes.map((probe) => probeStory(history, limits, probe)),
    meter: meterStory(history, limits.meter),
    trips: [...stories.flatMap((one) => one.trips).filter((trip) => !isReset(history, trip)), ...effects.trips],
    ...termOf(history),
    found: new Map(),
  }
}

export function placeKey(place: { readonly node: string; readonly pump: string }): string {
  return `${place.node}/${place.pump}`
}

/** Every pump a limit names, and every other that some node ever counted. */
function placesOf(history: History, limits: Limits): PumpPlace[] {
  const places = new Map<string, PumpPlace>()
  for (const { stock, node, pump } of limits.stocks) {
    const key = placeKey({ node, pump })
    if (!places.has(key)) places.set(key, { stock, node, pump })
  }
  for (const item of history) {
    if (item.what !== 'heartbeat') continue
    for (const { id } of item.pumps) {
      const place = { node: item.node, pump: id }
      if (!places.has(placeKey(place))) places.set(placeKey(place), { ...place, stock: null })
    }
  }
  return [...places.values()]
}

function isReset(history: History, mark: TripMark): boolean {
  return history.some((item, at) => at > mark.at && item.what === 'reset' && item.trip === mark.trip && isSigned(item))
}

function termOf(history: History): { started: boolean; term: number } {
  let [started, term] = [false, NaN]
  for (const item of history) {
    if (item.what !== 'start') continue
    started = Number.isSafeInteger(item.term) && item.term >= 0 && !(item.term <= term)
    if (started) term = item.term
  }
  return { started, term }
}

export function isNotChecked(value: unknown): boolean {
  return (
    typeof value === 'object' &&
    value !== null &&
    'notChecked' in value &&
    typeof value.notChecked === 'string' &&
    notBlank(value.notChecked)
  )
}
