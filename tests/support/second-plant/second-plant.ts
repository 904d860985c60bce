import type { DaemonMessage, NodeMessage } from '../../../src/contract/message.ts'
import type { LaboratoryResult } from '../../../src/reservoir/input.ts'
import { type BoardHabits, startBoard } from './board.ts'
import { openChance } from './chance.ts'
import { toMgPerL } from './ion.ts'
import { analyse } from './laboratory.ts'
import { growLettuce } from './lettuce.ts'
import { installProbes, PROBES, type ProbeErrors } from './probe.ts'
import { type DosingLine, fillReservoir, type ReservoirAccounts, type Water } from './reservoir.ts'
import { firstFill, STOCKS, wellWater } from './supply.ts'

export const NODE = 'bench'

/** A message of the node at a moment of the world. */
export type Emission = { readonly atMs: number; readonly node: string } & NodeMessage

export interface SecondPlantOptions {
  /** decides everything but the boot names */
  readonly seed: number
  readonly startMs: number
  /** where the sun stands; 0 unless given */
  readonly utcOffsetMin?: number
  readonly habits?: Partial<BoardHabits>
  /** part of every boot’s name, so that two runs of one seed are two boots */
  readonly bootSalt?: string
}

export interface SecondPlant {
  /** runs the world up to `atMs` and returns all that the node said since the last call */
  advanceTo(atMs: number): Emission[]
  /** the same, keeping what the node said for the next `advanceTo` */
  runTo(atMs: number): void
  /** a daemon’s message arrives at `atMs`; throws where that is past */
  receive(atMs: number, node: string, message: DaemonMessage): void
  /** mg/L of the element under the laboratory’s names, in the whole reservoir at the moment advanced to */
  truthMgPerL(): Record<string, number>
  water(): Water
  accounts(): ReservoirAccounts
  /** seconds that each pump really ran */
  pumpSeconds(): Record<string, number>
  /** a bottle drawn at `atMs` and analysed with the laboratory’s errors */
  sample(atMs: number): LaboratoryResult
  /** power of the node gone and back */
  powerCycle(atMs: number): void
  circulate(atMs: number, on: boolean): void
  /** litres let go at the moment advanced to */
  drain(litres: number): void
  status(): ReturnType<ReturnType<typeof startBoard>['status']>
  /** how far probes and pumps of this seed are off */
  readonly errors: { readonly probes: ProbeErrors; readonly pumpGain: Readonly<Record<string, number>> }
  readonly demandMmolPerL: Readonly<Record<string, number>>
}

/** A hydroponic reservoir with its crop, its pumps and its node. The same seed and messages give the same world. */
export function createSecondPlant({
  seed,
  startMs,
  utcOffsetMin = 0,
  habits,
  bootSalt = '',
}: SecondPlantOptions): SecondPlant {
  const open = (name: string) => openChance(seed, name)
  const lettuce = growLettuce(startMs, utcOffsetMin, open('lettuce'))
  const lines = drawLines(seed)
  const fill = firstFill(open('fill'))
  const reservoir = fillReservoir({ startMs, fill, makeUp: wellWater(), lines, lettuce })
  const probes = installProbes(startMs, open('probes'))
  const bottles = open('bottles')
  let nowMs = startMs
  let circulating = true
  let said: Emission[] = []

  const read = (atMs: number) => {
    reservoir.advanceTo(atMs)
    const { standingL, makeUpL } = reservoir.accounts()
    return probes.read({ atMs, water: reservoir.waterAtProbes(), standingL, makeUpL, circulating })
  }

  const board = startBoard(
    {
      pumps: Object.keys(STOCKS),
      group: 'manifold',
      probes: [...PROBES],
      habits: { heartbeatMs: 5000, scanMs: 10_000, secondCopy: 'tell-again', ...habits },
      bootName: (count) => ['b', seed, bootSalt, count].filter((part) => part !== '').join('-'),
      switchPump: (pump, on, atMs) => {
        reservoir.advanceTo(atMs)
        reservoir.switchPump(pump, on)
      },
      read,
      send: (atMs, message) => void said.push({ atMs, node: NODE, ...message }),
    },
    startMs,
  )

  const runTo = (atMs: number) => {
    if (!(atMs >= nowMs)) throw new Error(`the second plant stands at ${nowMs}; it cannot go back to ${atMs}`)
    for (let dueMs = board.dueMs(); dueMs <= atMs; dueMs = board.dueMs()) board.wake(dueMs)
    nowMs = atMs
  }

  const catchUp = () => reservoir.advanceTo(nowMs)

  return {
    advanceTo: (atMs) => {
      runTo(atMs)
      const batch = said
      said = []
      return batch
    },
    runTo,
    receive: (atMs, node, message) => {
      runTo(atMs)
      if (node !== NODE) return
      if (message.kind === 'lease') board.lease(atMs, message.message)
      else board.command(atMs, message.pump, message.message)
    },
    truthMgPerL: () => {
      catchUp()
      return toMgPerL(reservoir.water().mmolPerL)
    },
    water: () => {
      catchUp()
      return reservoir.water()
    },
    accounts: () => {
      catchUp()
      return reservoir.accounts()
    },
    pumpSeconds: () => {
      catchUp()
      return { ...reservoir.accounts().pumpSeconds }
    },
    drain: (litres) => {
      catchUp()
      reservoir.drain(litres)
    },
    sample: (atMs) => {
      runTo(atMs)
      catchUp()
      return analyse(reservoir.water(), atMs, bottles)
    },
    powerCycle: (atMs) => {
      runTo(atMs)
      board.powerCycle(atMs)
    },
    circulate: (atMs, on) => {
      runTo(atMs)
      catchUp()
      circulating = on
      reservoir.circulate(on)
    },
    status: board.status,
    errors: {
      probes: probes.errors,
      pumpGain: Object.fromEntries(Object.entries(lines).map(([pump, line]) => [pump, line.gain])),
    },
    demandMmolPerL: lettuce.demandMmolPerL,
  }
}

/** Every pump moves 2 to 4 % more or less than its plate says. */
function drawLines(seed: number): Record<string, DosingLine> {
  const chance = openChance(seed, 'pumps')
  return Object.fromEntries(
    Object.entries(STOCKS).map(([pump, stock]) => [pump, { stock, gain: chance.factor(0.02, 0.04) }]),
  )
}
