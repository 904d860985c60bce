/** What may be amiss at a site for a while; each trouble returns how it ends. */

import type { Item, Word } from './history.ts'
import type { World } from './world.ts'

type End = () => void
type Trouble = (world: World) => End

const SIGNED = { by: 'ada', reason: 'a look at the roots' }
const nothing: End = () => {}

const TROUBLES: readonly (readonly [number, Trouble])[] = [
  [3, edgeDown],
  [2, held],
  [3, sanitised],
  [10, oneProbe],
  [9, water],
  [6, node],
  [2, phase],
  [3, restarted],
  [3, counted],
  [5, mode],
  [2, refilled],
  [2, rate],
  [2, ration],
  [2, strength],
  [3, meter],
  [1, waterMoved],
  [3, counterSilent],
]

/** Something comes amiss; the end of it is for the caller to call, sooner or later. */
export function trouble(world: World): End {
  return world.chance.weighed(TROUBLES)(world)
}

function say(world: World, word: Word | Item): void {
  world.tell(word)
}

function blankly(world: World): { by: string; reason: string } {
  return world.chance.pick([SIGNED, SIGNED, { by: ' ', reason: 'why' }, { by: 'ada', reason: '' }])
}

function edgeDown(world: World): End {
  const edge = world.chance.pick(['link', 'disk', 'clock'] as const)
  say(world, { what: 'edge', atMs: world.nowMs, edge, well: false })
  return () => say(world, { what: 'edge', atMs: world.nowMs, edge, well: true })
}

function held(world: World): End {
  say(world, { what: 'hold', atMs: world.nowMs, ...blankly(world) })
  if (world.chance.often(0.3))
    say(world, { what: 'approve', atMs: world.nowMs, planId: 'plan-1', by: 'ada', reason: 'read it' })
  if (world.chance.often(0.3)) say(world, { what: 'release', atMs: world.nowMs, ...blankly(world) })
  return () => say(world, { what: 'release', atMs: world.nowMs, ...SIGNED })
}

function sanitised(world: World): End {
  const { chance } = world
  const beganMs = world.nowMs
  const around = (): number => beganMs + chance.pick([0, 0, -1, 1, 1000, NaN])
  const steps: Item[] = [
    { what: 'sanitise', atMs: beganMs, begin: true, ...blankly(world) },
    { what: 'sanitise', atMs: beganMs, begin: false, ...blankly(world) },
    { what: 'rinsed', atMs: beganMs, doneAtMs: around() },
    { what: 'probe-checked', atMs: beganMs, doneAtMs: around() },
  ]
  for (const step of steps) if (chance.often(0.85)) say(world, step)
  return () => {
    const { nowMs: atMs } = world
    say(world, { what: 'sanitise', atMs, begin: false, ...SIGNED })
    say(world, { what: 'rinsed', atMs, doneAtMs: atMs })
    say(world, { what: 'probe-checked', atMs, doneAtMs: atMs })
  }
}

function oneProbe(world: World): End {
  const { chance, limits } = world
  const switches = limits.probes.filter(({ role }) => role === 'hold-switch')
  const among = switches.length > 0 && chance.often(0.3) ? switches : limits.probes
  const probe = among.length === 0 ? null : chance.pick(among)
  if (probe === null) return nothing
  const { id, min, max, role } = probe
  const edges = role === 'hold-switch' ? [0.5, 0.4999, 1, -0.001, 0.5] : [min, max, min - 1e-9, max + 1e-9]
  const wrong = chance.weighed([
    [4, { value: chance.pick(edges) }],
    [1, { value: chance.pick([NaN, Infinity, -Infinity, -1]) }],
    [2, { quality: chance.pick(['bad', 'uncertain'] as const) }],
    [2, { isSilent: true }],
    [3, { isFrozen: true }],
    [3, { value: besideTwin(world, role) }],
  ])
  world.wrong.set(id, wrong)
  if (chance.often(0.7)) world.scan()
  return () => world.wrong.delete(id)
}

/** As far from what a twin shows as it may be, or a little more. */
function besideTwin(world: World, role: string): number {
  const apart = { conductivity: 0.2, ph: 0.3, level: 8, flow: 2 }[role] ?? 1
  const { ecDsPerM, ph, levelL, flowLPerMin } = world.water
  const own = { conductivity: ecDsPerM, ph, level: levelL, flow: flowLPerMin }[role] ?? 20
  return own + apart * world.chance.pick([1.1, -1.1, 0.9, 1, 3])
}

function water(world: World): End {
  const { chance, limits } = world
  const { levelMinL, levelMaxL, flowMinLPerMin } = limits
  const was = { ...world.water }
  const { acid, base } = limits
  const change = chance.pick([
    { levelL: levelMinL + chance.pick([-1, -0.1, 0.3, 5]) },
    { levelL: levelMaxL + chance.pick([-0.3, 0.1, 1]) },
    { flowLPerMin: flowMinLPerMin + chance.pick([-1, -0.05, 0.2, 0.05]) },
    { ph: (acid?.phFloor ?? 5.4) + chance.pick([-0.2, 0, 0.02, 0.1]) },
    { ph: (base?.phCeiling ?? 6.6) + chance.pick([-0.02, 0, 0.1]) },
  ])
  Object.assign(world.water, change)
  if (chance.often(0.8)) world.scan()
  return () => {
    const { ecDsPerM, meterL } = world.water
    Object.assign(world.water, was, { ecDsPerM, meterL })
  }
}

function node(world: World): End {
  const { chance } = world
  const name = chance.pick(Object.keys(world.nodes))
  const one = world.nodes[name]!
  const pump = Object.values(one.pumps)[0]
  const change = chance.pick([
    'offline',
    'contract',
    'silent',
    'term',
    'running',
    'longest',
    'boot',
    'late',
    'repeat',
    'nameless',
  ] as const)
  if (change === 'offline') one.online = false
  else if (change === 'contract') one.contract = chance.pick([2, 0])
  else if (change === 'silent') one.isSilent = true
  else if (change === 'term') one.termMore = chance.pick([1, 1, -1])
  else if (change === 'running' && pump !== undefined) pump.runningId = 'of-somebody'
  else if (change === 'longest' && pump !== undefined) pump.maxRunMs = chance.pick([0, 1000, 5000, -1])
  else if (change === 'boot') world.reboot(name, 0, null)
  else if (change === 'late') lateWord(world, name)
  else if (change === 'nameless') Object.assign(one, { boot: '', bootedMs: world.nowMs - 3000 })
  if (change === 'repeat') world.beat(name, true)
  if (['offline', 'contract', 'longest', 'nameless'].includes(change)) world.status(name)
  if (!['offline', 'contract', 'longest'].includes(change) && !one.isSilent) world.beat(name)
  return () => {
    Object.assign(one, { online: true, contract: 1, isSilent: false, termMore: 0 })
    for (const each of Object.values(one.pumps)) Object.assign(each, { runningId: null, maxRunMs: 120_000 })
    if (one.boot === '') world.reboot(name, 0, null)
    world.status(name, chance.often(0.8))
    world.beat(name)
  }
}

/** A will or a heartbeat of a boot that is over. */
function lateWord(world: World, name: string): void {
  const { boot } = world.nodes[name]!
  world.reboot(name, 0, null)
  world.status(name)
  world.beat(name)
  const { nowMs: atMs } = world
  if (world.chance.often(0.5))
    world.tell({ what: 'status', atMs, node: name, contract: 1, online: false, boot, pumps: null })
  else world.tell({ what: 'heartbeat', atMs, node: name, boot, uptimeMs: 9e6, term: 99, pumps: [] })
}

function phase(world: World): End {
  const { nowMs: atMs } = world
  say(world, {
    what: 'approve',
    atMs,
    planId: world.chance.pick(['plan-1', 'plan-2']),
    ...blankly(world),
  })
  return nothing
}

function restarted(world: World): End {
  const { chance } = world
  world.start(chance.pick([world.term + 1, world.term + 5, world.term, NaN, 1.5, -1]))
  if (chance.often(0.8)) for (const name of Object.keys(world.nodes)) world.status(name)
  return () => {
    world.start(world.term + 1)
    for (const name of Object.keys(world.nodes)) world.status(name)
  }
}

/** A counter that moves by itself. */
function counted(world: World): End {
  const { chance } = world
  const one = chance.pick(Object.values(world.nodes))
  const pump = Object.values(one.pumps)[0]
  if (pump === undefined) return nothing
  const change = chance.pick(['ran', 'doubt', 'fell', 'doubt fell'] as const)
  if (change === 'ran') pump.totalRunMs += chance.pick([1, 700, 9000])
  else if (change === 'doubt') pump.doubtMs += chance.pick([1, 2500])
  else if (change === 'fell') pump.totalRunMs = Math.max(0, pump.totalRunMs - 1)
  else pump.doubtMs = Math.max(0, pump.doubtMs - 1)
  return nothing
}

function mode(world: World): End {
  const { chance } = world
  const set = (): void => {
    const to = chance.pick(['automatic', 'advise', 'advise', 'observe', 'observe'] as const)
    say(world, { what: 'mode', atMs: world.nowMs, mode: to, ...blankly(world) })
    if (to === 'advise' && chance.often(0.7))
      say(world, { what: 'approve', atMs: world.nowMs, planId: 'plan-1', by: 'ada', reason: 'read it' })
  }
  set()
  return () => {
    if (chance.often(0.9)) say(world, { what: 'mode', atMs: world.nowMs, mode: 'automatic', ...SIGNED })
  }
}

function refilled(world: World): End {
  const { chance, nowMs: atMs, limits } = world
  const { stock, refill } = chance.pick(limits.stocks)
  const usualMl = refill !== undefined && 'bottleUl' in refill ? refill.bottleUl / 1000 : 1000
  const volumeMl = chance.pick([usualMl, usualMl / 2, usualMl / 3, 0, -1, NaN, 1e300])
  const doneAtMs = atMs + chance.pick([0, -60_000, -600_000, 1, -24 * 3_600_000, 1 - 24 * 3_600_000, NaN])
  say(world, { what: 'refilled', atMs, stock, volumeMl, doneAtMs })
  return nothing
}

function rate(world: World): End {
  const { stock, rateUlPerS } = world.chance.pick(world.limits.stocks)
  const factor = world.chance.pick([0.9, 1.1, 0.5, 2, 0.49, 2.01])
  say(world, { what: 'rate', atMs: world.nowMs, stock, rateUlPerS: rateUlPerS * factor })
  return nothing
}

function ration(world: World): End {
  const approve = world.chance.often(0.85)
  say(world, { what: 'ration', atMs: world.nowMs, approve, ...blankly(world) })
  return nothing
}

function waterMoved(world: World): End {
  say(world, { what: 'water-moved', atMs: world.nowMs })
  if (world.chance.often(0.5)) world.water.levelL -= world.chance.pick([1, 4, 10])
  return nothing
}

/** A pump of which the node’s heartbeats say nothing. */
function counterSilent(world: World): End {
  const { chance } = world
  const one = chance.pick(Object.values(world.nodes))
  const pump = chance.pick([...Object.values(one.pumps), null])
  if (pump === null) return nothing
  pump.isHidden = true
  return () => {
    pump.isHidden = false
  }
}

function strength(world: World): End {
  const { stock } = world.chance.pick(world.limits.stocks)
  world.strength[stock] = world.chance.pick([1, 0, 0.5, 2, -1])
  return nothing
}

function meter(world: World): End {
  const {
    chance,
    limits,
    water: { meterL },
  } = world
  if (limits.meter === undefined) return nothing
  const change = chance.pick(['fast', 'back', 'bad', 'silent'] as const)
  if (change === 'fast') world.meterLPerMin = chance.pick([0, 1, 20])
  else if (change === 'back') world.water.meterL = chance.pick([0, meterL - 3])
  else if (change === 'bad') world.wrong.set(limits.meter.id, { quality: 'bad' })
  else world.wrong.set(limits.meter.id, { isSilent: true })
  return () => {
    world.wrong.delete(limits.meter?.id ?? '')
  }
}
