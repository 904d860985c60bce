/** Sessions of a random site, and wishes asked of both; a difference is told with its seed. */

import type { ShotWish } from '../../../src/safety/types.ts'
import { Chance } from './chance.ts'
import { meetFate, tidy } from './fates.ts'
import { randomLimits } from './random-limits.ts'
import { ROW_NAMES, refusers } from './rows.ts'
import { trouble } from './troubles.ts'
import { momentAhead, randomWish } from './wishes.ts'
import { World } from './world.ts'

export interface Difference {
  readonly seed: number
  readonly nowMs: number
  readonly wish: ShotWish
  /** rows that only the gate refuses by */
  readonly gateOnly: readonly string[]
  /** rows that only the model refuses by */
  readonly modelOnly: readonly string[]
}

/** Rows that cannot refuse alone, with those that always refuse beside them. */
export const COMPANIONS: Readonly<Record<string, readonly string[]>> = {
  'acid-mixed': ['acid-ph-fresh'],
  'base-mixed': ['base-ph-fresh'],
  'calibration-declared': ['calibration-run-bounded', 'calibration-day-bounded'],
  'flow-running': ['flow-steady', 'acid-after-flow', 'base-after-flow'],
  'probe-present': [
    'probe-not-from-future',
    'probe-fresh',
    'probe-good',
    'probe-in-range',
    'probe-not-stuck',
    'probes-agree',
    'level-not-low',
    'level-not-high',
    'flow-running',
    'flow-steady',
    'hold-switch-open',
  ],
}

/** What was asked and answered. */
export class Tally {
  asked = 0
  permitted = 0
  sites = 0
  commands = 0
  /** how often a row refused at all, and how often it alone, or with no more than its companions */
  readonly refused = new Map<string, number>()
  readonly alone = new Map<string, number>()
  readonly differences: Difference[] = []

  count(why: readonly string[]): void {
    this.asked += 1
    if (why.length === 0) this.permitted += 1
    for (const row of why) {
      this.refused.set(row, (this.refused.get(row) ?? 0) + 1)
      const beside = COMPANIONS[row] ?? []
      if (why.every((other) => other === row || beside.includes(other)))
        this.alone.set(row, (this.alone.get(row) ?? 0) + 1)
    }
  }

  /** One line a row: how often it refused, and how often alone. */
  table(): string {
    const lines = ROW_NAMES.map((row) => {
      const [refused, alone] = [this.refused.get(row) ?? 0, this.alone.get(row) ?? 0]
      return `${row.padEnd(24)} refused ${String(refused).padStart(9)}, alone ${String(alone).padStart(8)}`
    })
    const { asked, permitted, sites, commands } = this
    return [...lines, `${asked} wishes at ${sites} sites, ${permitted} permitted, ${commands} sent`].join('\n')
  }
}

/** So many wishes, site after site from a first seed; ends after the first so many differences. Shows each site’s tally. */
export function askMany(
  first: number,
  wishes: number,
  differencesMax = 5,
  show: (tally: Tally, seed: number) => void = () => {},
): Tally {
  const tally = new Tally()
  for (let seed = first; tally.asked < wishes && tally.differences.length < differencesMax; seed += 1) {
    const world = session(seed, tally)
    tally.sites += 1
    tally.commands += world.open.length
    show(tally, seed)
  }
  return tally
}

/** A difference in words, with what plays it again. */
export function tellDifference({ seed, nowMs, wish, gateOnly, modelOnly }: Difference): string {
  const asked = `${wish.volumeUl} µL of ${wish.stock}, ${wish.purpose ?? 'a plan’s'}, at ${nowMs}`
  return `seed ${seed}: ${asked}: only the gate refuses by [${gateOnly.join()}], only the model by [${modelOnly.join()}]`
}

const MOMENTS = 14
const WISHES_EACH = 30
/** every so many wishes `judge` itself is asked, figures, book and all */
const THROUGH_JUDGE = 0.02

/** One site from its seed; ends early at the first difference, since all that follows follows from it. */
export function session(seed: number, tally: Tally): World {
  const chance = new Chance(seed)
  const world = new World(randomLimits(chance), chance)
  begin(world)
  let end = (): void => {}
  for (let moment = 0; moment < MOMENTS; moment += 1) {
    if (chance.often(0.9)) end()
    if (chance.often(0.28)) end = trouble(world)
    if (askAll(world, tally, seed, passTime(world))) return world
    act(world, moment)
  }
  return world
}

function begin(world: World): void {
  const { chance, limits } = world
  if (chance.often(0.99)) world.start()
  for (const name of Object.keys(world.nodes)) world.status(name)
  if (limits.mode === 'advise')
    world.tell({ what: 'approve', atMs: world.nowMs, planId: 'plan-1', by: 'ada', reason: 'read it' })
  if (limits.ration !== undefined && chance.often(0.9))
    world.tell({ what: 'ration', atMs: world.nowMs, approve: true, by: 'ada', reason: 'before we travel' })
  for (const stock of Object.keys(world.strength))
    if (chance.often(0.3)) world.strength[stock] = chance.pick([0, 0.5, 2, -1])
  for (const { stock } of limits.stocks)
    if (chance.often(0.2)) {
      const { nowMs: atMs } = world
      world.tell({ what: 'refilled', atMs, stock, volumeMl: chance.pick([0.9, 1.5, 3, 500]), doneAtMs: atMs })
    }
  for (let scans = chance.whole(4, 12); scans > 0; scans -= 1) {
    world.live()
    world.nowMs += chance.pick([20_000, 40_000, 55_000])
  }
}

/** Returns the moment of the wishes, which is never before the last tick: the loop’s own time does not fall. */
function passTime(world: World): number {
  const { chance } = world
  const ahead = chance.often(0.5) ? momentAhead(world, world.lookBack()) : null
  world.goTo(ahead ?? world.nowMs + chance.pick([0, 1, 1000, 30_000, 90_000, 240_000, 600_000]))
  const kind = chance.share()
  if (kind < 0.75) world.live()
  else if (kind < 0.85) world.scan()
  else if (kind < 0.95) for (const name of Object.keys(world.nodes)) world.beat(name)
  return chance.often(0.03) ? beforeItsNews(world) : world.nowMs
}

/**
 * Scans and heartbeats that bear a moment which, to those who ask, is still to come. The make-up counter is left out: its
 * marks are let go of by its own newest reading, so that for it time would fall.
 */
function beforeItsNews(world: World): number {
  const { nowMs, chance, limits } = world
  world.nowMs += 1
  if (chance.often(0.8)) world.scan(limits.meter?.id)
  for (const name of Object.keys(world.nodes)) if (chance.often(0.5)) world.beat(name)
  return nowMs
}

/** Whether there was a difference. */
function askAll(world: World, tally: Tally, seed: number, nowMs: number): boolean {
  const { chance, gate } = world
  const past = world.lookBack()
  const commandId = idFor(world)
  const rows = gate.rowsAt(nowMs, commandId)
  for (let asked = 0; asked < WISHES_EACH; asked += 1) {
    const wish = randomWish(world, past, nowMs)
    const before = gate.state
    const isThrough = chance.often(THROUGH_JUDGE)
    const said = isThrough ? gate.shoot(wish, nowMs, commandId) : rows(wish)
    gate.state = before
    const own = refusers(past, wish, commandId, nowMs)
    const gateOnly = said.filter((row) => !own.includes(row))
    const modelOnly = own.filter((row) => !said.includes(row))
    tally.count(said)
    if (gateOnly.length + modelOnly.length === 0) continue
    tally.differences.push({ seed, nowMs, wish, gateOnly, modelOnly })
    return true
  }
  return false
}

/** Mostly a new one. */
function idFor(world: World): string {
  const { chance } = world
  if (chance.often(0.97)) return `ask-${world.history.length}`
  const old = world.history.findLast((item) => item.what === 'command')
  return chance.often(0.8) && old?.what === 'command' ? old.id : ''
}

/** A shot is sent where one may be, and meets its fate; now and then somebody tidies up. */
function act(world: World, moment: number): void {
  const { chance, gate } = world
  if (chance.often(0.35)) tidy(world, chance)
  if (gate.state.mode === 'advise' && chance.often(0.6))
    world.tell({ what: 'approve', atMs: world.nowMs, planId: 'plan-1', by: 'ada', reason: 'read it' })
  for (let tries = 0; tries < 3; tries += 1) {
    if (!chance.often(0.7)) continue
    const wish = randomWish(world, world.lookBack(), world.nowMs)
    const id = `shot-${moment}-${tries}`
    // its rows first, which cost a tenth of the sentences that a refusal is told in
    if (gate.rowsAt(world.nowMs, id)(wish).length > 0) continue
    if (gate.shoot(wish, world.nowMs, id).length > 0)
      throw new Error(`${id} is refused by judge and by none of its rows`)
    world.sent(id, wish)
    meetFate(world, world.open.at(-1)!)
    return
  }
}
