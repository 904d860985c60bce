/** Wishes at and around every boundary that the model knows of. */

import type { ShotWish } from '../../../src/safety/types.ts'
import type { Chance } from './chance.ts'
import type { Past } from './past.ts'
import { holds, ROW_NAMES } from './rows.ts'
import type { World } from './world.ts'

const AMOUNT_ROWS = ROW_NAMES.filter((name) =>
  /shot-bounded|run-bounded|hour-|day-|not-empty|since-refill|series-doubled|unproven|rate-bounded|metered/.test(name),
)

const ODD_UL = [0, -1, 0.5, NaN, Infinity, 2 ** 53, 1, 1e300, 2 ** 53 - 1]

export function randomWish(world: World, past: Past, nowMs: number): ShotWish {
  const { chance, limits } = world
  const stock = chance.often(0.995) ? chance.pick(limits.stocks).stock : 'nobody'
  const planId = chance.often(0.95) ? 'plan-1' : 'plan-2'
  const isObserving = past.people.mode === 'observe'
  const purpose = chance.weighed([
    [isObserving ? 3 : 8, undefined],
    [limits.ration === undefined ? 0.1 : 1.5, 'ration'],
    [isObserving ? 8 : 0.3, 'calibration'],
  ] as const)
  const withWater = purpose === 'calibration' && chance.often(0.7) ? { withWater: chance.often(0.7) } : {}
  const wish = { stock, planId, volumeUl: 1000, ...(purpose === undefined ? {} : { purpose }), ...withWater }
  return { ...wish, volumeUl: volumeOf(chance, past, wish, nowMs) }
}

function volumeOf(chance: Chance, past: Past, wish: ShotWish, nowMs: number): number {
  const kind = chance.share()
  if (kind < 0.015) return chance.pick(ODD_UL)
  if (kind < 0.55) return chance.pick([1, 50, 200, 500, 1000, 1000, 1500, 2000, 3000])
  const row = chance.pick(AMOUNT_ROWS)
  return Math.max(1, boundary(past, wish, nowMs, row) + chance.whole(-1, 1))
}

/** The largest whole volume for which one row holds; some usual one where it holds for none or for all. */
function boundary(past: Past, wish: ShotWish, nowMs: number, row: string): number {
  const isFine = (volumeUl: number): boolean => holds(past, { ...wish, volumeUl }, nowMs, row)
  let [fine, over] = [0, 2 ** 22]
  if (!isFine(1) || isFine(over)) return 2000
  while (over - fine > 1) {
    const middle = Math.floor((fine + over) / 2)
    if (isFine(middle)) fine = middle
    else over = middle
  }
  return fine
}

/** A moment at which something runs out or begins, or one beside it; null where nothing is to come. */
export function momentAhead(world: World, past: Past): number | null {
  const moments = [...momentsOf(past)].filter((at) => at > world.nowMs && at < world.nowMs + 30 * 3_600_000)
  if (moments.length === 0) return null
  moments.sort((a, b) => a - b)
  const near = moments.slice(0, world.chance.pick([3, 8, 1000]))
  return world.chance.pick(near) + world.chance.whole(-1, 1)
}

function* momentsOf(past: Past): Generator<number> {
  const { limits, people } = past
  const { mixingMs } = limits
  const waits = [mixingMs, 3_600_000, 24 * 3_600_000]
  const acidApartMs = limits.base?.acidApartMs ?? mixingMs
  for (const { gapMs, apart } of limits.stocks) waits.push(gapMs, ...apart.map(({ ms }) => ms))
  for (const { endMs } of [...past.deliveries, ...past.orders])
    for (const wait of [...waits, acidApartMs]) yield endMs + wait
  for (const { endMs } of past.orders) yield* [endMs, endMs + limits.reportGraceMs]
  for (const { last, flowingSinceMs, sameSinceMs, probe } of past.probes) {
    if (last !== null) yield* [last.atMs + limits.scanAgeMaxMs, sameSinceMs + (probe.stuckMs ?? limits.stuckMs)]
    yield* [flowingSinceMs + limits.flowSteadyMs, flowingSinceMs + (limits.acid?.afterFlowMs ?? 0)]
  }
  for (const { heartbeat } of past.nodes.values())
    if (heartbeat !== null) yield heartbeat.atMs + limits.heartbeatAgeMaxMs
  if (people.approval !== null) yield people.approval.atMs + limits.approvalMs
  if (people.rationMs !== null) yield people.rationMs + (limits.ration?.lastsMs ?? NaN)
  for (const { contrast } of past.effects.byStock.values())
    if (contrast !== null && limits.effect !== undefined && 'windowMs' in limits.effect)
      yield contrast.endMs + mixingMs + limits.effect.windowMs
  for (const { atMs } of past.meter.marks.slice(0, 3)) yield* [atMs + 3_600_000, atMs + 24 * 3_600_000]
}
