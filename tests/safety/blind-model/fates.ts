/** What becomes of a command in the world. */

import type { Chance } from './chance.ts'
import type { Report } from './history.ts'
import type { Sent, World } from './world.ts'

type Fate = (world: World, sent: Sent) => void

const FATES: readonly (readonly [number, Fate])[] = [
  [60, (world, sent) => reported(world, sent, sent.runMs, sent.runMs)],
  [6, (world, sent) => reported(world, sent, sent.runMs + world.chance.whole(-3, 3), sent.runMs)],
  [6, silentlyRan],
  [4, (world, sent) => countTold(world, sent)],
  [4, (world, sent) => untilTheEdge(world, sent, 'not-sent')],
  [3, (world, sent) => reported(world, sent, 0, 0, 'refused')],
  [3, (world, sent) => reported(world, sent, Math.floor(sent.runMs / 2), Math.floor(sent.runMs / 2), 'stopped')],
  [2, (world, sent) => reported(world, sent, sent.runMs, sent.runMs + world.chance.pick([499, 500, 501]))],
  [1, (world, sent) => reported(world, sent, sent.runMs + world.chance.pick([499, 500, 501]), sent.runMs)],
  [3, rebootedInMidShot],
  [1, counterFell],
  [3, stillRuns],
  [2, (world, sent) => reported(world, { ...sent, boot: `${sent.boot}-other` }, sent.runMs, sent.runMs)],
  [2, (world) => world.start(world.term + 1)],
  [4, hiddenFromAll],
]

export function meetFate(world: World, sent: Sent): void {
  if (world.chance.often(0.8)) world.tell({ what: 'sent', atMs: world.nowMs, commandId: sent.id })
  world.chance.weighed(FATES)(world, sent)
}

function after(world: World, sent: Sent): void {
  const beyondMs = world.chance.pick([0, 1, 500, 5000])
  world.goTo(world.nowMs + (sent.runMs > 0 && sent.runMs < 1e7 ? sent.runMs : 0) + beyondMs)
}

function reported(world: World, sent: Sent, saidMs: number, ranMs: number, state: Report['state'] = 'done'): void {
  after(world, sent)
  world.run(sent, ranMs)
  const { nowMs: atMs, nodes } = world
  const { node, pump, id: commandId, boot } = sent
  const { totalRunMs } = nodes[node]!.pumps[pump]!
  const uptimeMs = atMs - nodes[node]!.bootedMs
  world.tell({ what: 'report', atMs, node, pump, commandId, boot, uptimeMs, state, ranMs: saidMs, totalRunMs })
  if (world.chance.often(0.03))
    world.tell({ what: 'report', atMs, node, pump, commandId, boot, uptimeMs, state, ranMs: saidMs, totalRunMs })
  if (world.chance.often(0.5)) world.beat(node)
}

/** It ran and the report was lost: the counter tells, once the start window is past. */
function silentlyRan(world: World, sent: Sent): void {
  world.run(sent, world.chance.pick([sent.runMs, sent.runMs, 0, Math.floor(sent.runMs / 3)]))
  if (world.chance.often(0.5)) untilTheWindow(world, sent)
}

function countTold(world: World, sent: Sent): void {
  world.run(sent, sent.runMs)
  untilTheWindow(world, sent)
}

function untilTheWindow(world: World, sent: Sent): void {
  const { startWindowMs } = world.limits
  if (!(startWindowMs < 1e7)) return
  world.goTo(sent.atMs + startWindowMs + world.chance.whole(-1, 1))
  if (world.chance.often(0.8)) world.beat(sent.node)
}

function untilTheEdge(world: World, sent: Sent, what: 'not-sent'): void {
  world.tell({ what, atMs: world.nowMs, commandId: sent.id })
}

function rebootedInMidShot(world: World, sent: Sent): void {
  after(world, sent)
  world.run(sent, world.chance.pick([0, Math.floor(sent.runMs / 2)]))
  world.reboot(sent.node, world.chance.pick([0, sent.runMs]), sent.pump)
  if (world.chance.often(0.5)) world.status(sent.node)
  world.beat(sent.node)
  if (world.chance.often(0.7)) world.status(sent.node)
}

function counterFell(world: World, sent: Sent): void {
  const pump = world.nodes[sent.node]!.pumps[sent.pump]!
  if (world.chance.often(0.5)) pump.totalRunMs = Math.max(0, pump.totalRunMs - 1000)
  else reported(world, sent, sent.runMs, -Math.min(pump.totalRunMs, 700))
  world.beat(sent.node)
}

/** No report, and a heartbeat that leaves the pump out: nobody knows, and time alone does not tell. */
function hiddenFromAll(world: World, sent: Sent): void {
  world.nodes[sent.node]!.pumps[sent.pump]!.isHidden = true
  const { startWindowMs, reportGraceMs } = world.limits
  const waitMs = startWindowMs + sent.runMs + reportGraceMs
  if (waitMs < 1e7 && world.chance.often(0.9)) world.goTo(sent.atMs + waitMs + world.chance.whole(0, 2))
  world.live()
  if (!world.chance.often(0.4)) return
  world.start(world.term + 1)
  for (const name of Object.keys(world.nodes)) world.status(name)
  world.live()
}

function stillRuns(world: World, sent: Sent): void {
  const pump = world.nodes[sent.node]!.pumps[sent.pump]!
  pump.runningId = sent.id
  world.beat(sent.node)
  if (!world.chance.often(0.7)) return
  untilTheWindow(world, sent)
  pump.runningId = null
}

/** What nobody heard of for long is told by somebody: the counter, or a person. */
export function tidy(world: World, chance: Chance): void {
  for (const node of Object.values(world.nodes))
    for (const pump of Object.values(node.pumps)) if (chance.often(0.5)) pump.isHidden = false
  for (const order of world.gate.state.book.commands) {
    if (!chance.often(0.5)) continue
    const trip = `unsettled:${order.commandId}`
    const by = chance.often(0.9) ? 'ada' : ' '
    world.tell({ what: 'reset', atMs: world.nowMs, trip, by, reason: chance.often(0.9) ? 'the node is gone' : '' })
  }
  for (const { trip } of world.gate.state.trips) {
    if (!chance.often(0.8)) continue
    const by = chance.often(0.97) ? 'ada' : ''
    world.tell({ what: 'reset', atMs: world.nowMs, trip, by, reason: chance.often(0.97) ? 'looked at it' : ' ' })
  }
}
