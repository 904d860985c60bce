import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { SqliteLedger } from '../../../src/ledger/sqlite-ledger.ts'
import { reservoirSettings } from '../../../src/reservoir/configure-reservoir.ts'
import type { LedgerRecord } from '../../../src/reservoir/record.ts'
import { initialReservoirState } from '../../../src/reservoir/state.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import { createDaemonState } from '../../../src/shell/daemon-state.ts'
import type { EventView } from '../../../src/shell/daemon-view.ts'
import { createLog } from '../../../src/shell/log.ts'
import { Loop } from '../../../src/shell/loop.ts'
import { NODE, START_MS } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { MemoryLedger } from './memory-ledger.ts'

let configuration: Configuration
beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

function shown() {
  const clock = createLockstepClock(START_MS)
  const ledger = new MemoryLedger()
  const settings = reservoirSettings(configuration)
  const published: [string, unknown][] = []
  const withRoom = Object.assign(ledger, { freeBytes: async () => 4096 })
  const state = createDaemonState({
    ...{ configuration, clock, reservoirId: 'quarry-lane', version: 'test', loop: () => loop },
    ledger: withRoom as unknown as SqliteLedger,
    log: createLog({ pretty: false, destination: { write: () => {} } }),
    publishState: (suffix, json) => published.push([suffix, JSON.parse(json)]),
  })
  const loop: Loop = new Loop({
    ...{ settings, clock, ledger, term: 1, headSequence: 0, reservoirId: 'quarry-lane', configurationHash: '' },
    state: initialReservoirState(settings),
    link: { sendCommand: async () => 'sent' },
    leases: () => undefined,
    onEffect: (effect, atMs) => state.note(effect, atMs),
    startAgain: async () => ({ controller: 'tests', term: 2, utcOffsetMin: 0 }),
    onStartedAgain: () => {},
    onFenced: () => {},
    onFault: () => {},
    onBroken: () => {},
  })
  const start = () => loop.take({ kind: 'start', controller: 'tests', term: 1, utcOffsetMin: 0 })
  return { state, view: state.view, loop, ledger, published, start }
}

const settled = (commandId: string, outcome: 'done' | 'unknown', highUl: number): LedgerRecord => ({
  ...{ kind: 'settled', atMs: START_MS, commandId, stock: 'nitrate', outcome },
  delivered: { lowUl: 0, highUl },
})

describe('what happened', () => {
  it('is counted on from one, so that a reader goes on where it left off', () => {
    const { state, view } = shown()
    for (const text of ['one', 'two', 'three']) state.note({ kind: 'notification', event: 'planned', text }, START_MS)
    expect(view.recentEvents(2).map(({ text }) => text)).toEqual(['two', 'three'])
    expect(view.recentEvents(9, 2)).toEqual([{ sequence: 3, atMs: START_MS, kind: 'planned', text: 'three' }])
  })

  it('is told to whoever listens, until they stop', () => {
    const { state, view } = shown()
    const heard: EventView[] = []
    const stop = view.subscribe((event) => heard.push(event))
    state.note({ kind: 'notification', event: 'planned', text: 'heard' }, START_MS)
    stop()
    state.note({ kind: 'notification', event: 'planned', text: 'not heard' }, START_MS)
    expect(heard.map(({ text }) => text)).toEqual(['heard'])
  })

  it('is kept for a while only, and keeps its numbers', () => {
    const { state, view } = shown()
    for (let count = 1; count <= 1200; count++)
      state.note({ kind: 'notification', event: 'planned', text: `${count}` }, START_MS)
    const kept = view.recentEvents(Number.POSITIVE_INFINITY)
    expect(kept.length).toBeLessThanOrEqual(500)
    expect(kept.at(-1)).toMatchObject({ sequence: 1200, text: '1200' })
  })
})

describe('counts', () => {
  it('add what was or may have been delivered, by pump and outcome', () => {
    const { state, view } = shown()
    for (const record of [settled('1', 'done', 500), settled('2', 'done', 700), settled('3', 'unknown', 900)])
      state.note({ kind: 'record', record }, START_MS)
    state.note({ kind: 'record', record: { kind: 'tripped', atMs: START_MS, trip: 'pump-overran', why: '' } }, START_MS)
    expect(view.counters().doses).toEqual([
      { pump: 'pump-3', outcome: 'done', count: 2, volumeUl: 1200 },
      { pump: 'pump-3', outcome: 'unknown', count: 1, volumeUl: 900 },
    ])
    expect(view.counters().trips).toEqual([{ interlock: 'pump-overran', count: 1 }])
  })
})

describe('a person’s word', () => {
  it('holds at once, is kept with name and reason, and can be taken back', async () => {
    const { view, start, ledger } = shown()
    await start()
    expect(await view.instruct('Ines', 'smell of acid', { instruction: 'hold' })).toEqual({ kind: 'taken' })
    expect(view.status()).toMatchObject({ held: true })
    expect(ledger.records.at(-1)).toMatchObject({ kind: 'instructed', by: 'Ines', reason: 'smell of acid' })
    await view.instruct('Ines', 'aired', { instruction: 'release' })
    expect(view.status()).toMatchObject({ held: false })
  })

  it('about what does not stand is refused with what does', async () => {
    const { view, start } = shown()
    await start()
    expect(await view.instruct('Ines', 'why not', { instruction: 'release' })).toEqual({
      kind: 'refused',
      why: 'dosing is not on hold, so there is nothing to release',
    })
    expect(await view.instruct('Ines', 'why not', { instruction: 'reset', trip: 'pump-overran' })).toEqual({
      kind: 'refused',
      why: 'no trip "pump-overran" waits for a person; none does',
    })
    expect(await view.instruct('Ines', 'seen', { instruction: 'acknowledge', alarm: 'no-flow' })).toMatchObject({
      kind: 'refused',
    })
  })

  it('that the ledger cannot keep is not said to be in force', async () => {
    const { view, start, ledger } = shown()
    await start()
    ledger.disk = 'full'
    expect(await view.instruct('Ines', 'smell of acid', { instruction: 'hold' })).toMatchObject({ kind: 'not-kept' })
  })
})

describe('an upload', () => {
  const upload = {
    ...{ fileName: 'report.csv', by: 'Ines', isAccepted: true, sampledAtMs: START_MS - 3_600_000 },
    text: 'analyte,value,unit\nPotassium,182,mg/L\n',
  }

  it('that the reservoir refuses comes back refused, in the reservoir’s own words', async () => {
    const { view, start } = shown()
    await start()
    const answer = await view.addLaboratory({ ...upload, sampledAtMs: START_MS + 86_400_000 })
    expect(answer).toMatchObject({
      kind: 'refused',
      why: ['Refused report.csv: its sample time lies 24 h in the future'],
    })
  })

  it('that the ledger cannot keep is refused, to be sent again', async () => {
    const { view, start, ledger } = shown()
    await start()
    ledger.disk = 'full'
    expect(await view.addLaboratory(upload)).toEqual({
      kind: 'refused',
      why: ['the ledger cannot be written now; try again when it can'],
    })
  })
})

describe('readiness', () => {
  it('names the node that is not online', async () => {
    const { view, start } = shown()
    await start()
    expect(view.readiness().find(({ name }) => name === 'nodes')).toEqual({
      ...{ name: 'nodes', ok: false, text: `not online: ${NODE}` },
    })
  })
})

describe('the retained topics', () => {
  it('hold the status and, once there is one, the estimate; the head of the ledger follows', async () => {
    const { state, published, start, view, ledger } = shown()
    state.publish()
    expect(published.map(([suffix]) => suffix)).toEqual(['alarms', 'status'])
    await start()
    state.publish()
    expect(published.map(([suffix]) => suffix)).toEqual(['alarms', 'status', 'status', 'estimate'])
    await expect.poll(() => view.status().head.sequence).toBe(ledger.entries.length)
    await expect.poll(() => view.counters().ledgerFreeBytes).toBe(4096)
  })
})
