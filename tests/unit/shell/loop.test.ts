import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { decodeSnapshot } from '../../../src/reservoir/snapshot.ts'
import type { ReservoirState } from '../../../src/reservoir/state.ts'
import { step } from '../../../src/reservoir/step.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import type { UnstampedInput } from '../../../src/shell/loop-input.ts'
import { openReservoir } from '../../../src/shell/open-reservoir.ts'
import { MINUTE_MS, NODE } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { alarmsOf, HASH, HOLD, loopAt as loopOf, SITE, unstamped } from './loop-bench.ts'
import { type Moment, momentOfDose } from './moment.ts'

let configuration: Configuration
let moment: Moment
beforeAll(async () => {
  configuration = await quarryLane('automatic')
  moment = momentOfDose(configuration)
})

/** As only a fault of the program could make it: no step takes it. */
function impossible(state: ReservoirState): ReservoirState {
  return { ...state, core: { ...state.core!, open: null as never } }
}

const loopAt = (state?: ReservoirState, changes?: Parameters<typeof loopOf>[2]) => loopOf(moment, state, changes)

describe('a command', () => {
  it('goes out only after the verdict that permits it is kept', async () => {
    const { loop, order, dose } = loopAt()
    expect(await dose()).toBe(true)
    await loop.idle()
    const sent = order.findIndex((what) => what.startsWith(`sent ${NODE}/`))
    expect(sent).toBeGreaterThan(0)
    expect(order.slice(0, sent).some((what) => what.startsWith('kept') && what.includes('judged'))).toBe(true)
    expect(loop.state.safety.book.commands).toMatchObject([{ status: 'open', sent: true }])
  })

  it('that the link did not send is settled as nothing delivered', async () => {
    const { loop, ledger, dose } = loopAt(moment.state, { link: { sendCommand: async () => 'not-sent' } })
    await dose()
    await loop.idle()
    const settled = ledger.records.find(({ kind }) => kind === 'settled')
    expect(settled).toMatchObject({ outcome: 'not-sent', delivered: { lowUl: 0, highUl: 0 } })
    expect(loop.state.safety.book.commands).toEqual([])
  })

  it('is not sent where its verdict cannot be kept', async () => {
    const { loop, ledger, order, dose } = loopAt()
    ledger.disk = 'full'
    await dose()
    await loop.idle()
    expect(order.filter((what) => what.startsWith('sent'))).toEqual([])
  })
})

describe.each(['full', 'read-only'] as const)('a ledger that cannot be written: %s', (disk) => {
  it('permits nothing, withdraws every lease and is told', async () => {
    const { loop, ledger, order, told, dose } = loopAt()
    ledger.disk = disk
    await dose()
    expect(loop.state.safety.book).toEqual(moment.state.safety.book)
    expect(loop.state.safety.diskWritable).toBe(false)
    expect(new Set(order)).toEqual(new Set([`withdrawn ${NODE}`]))
    expect(alarmsOf(told)).toContain('disk-not-writable')
  })

  it('keeps nobody from hearing of another alarm, and that alarm is in the ledger once it takes rows again', async () => {
    const { loop, ledger, clock, told, dose } = loopAt()
    ledger.disk = disk
    await dose()
    for (let minute = 0; minute < 10; minute++) {
      clock.advance(MINUTE_MS)
      await loop.take({ kind: 'tick' })
    }
    expect(alarmsOf(told)).toContain(`node-silent:${NODE}`)
    expect(loop.state.atMs).toBeGreaterThan(moment.input.atMs + 9 * MINUTE_MS)
    expect(ledger.records).toEqual([])
    ledger.disk = 'well'
    await loop.take({ kind: 'tick' })
    const alarms = ledger.records.flatMap((record) => (record.kind === 'alarm' ? [record.alarm] : []))
    expect(alarms).toEqual(alarmsOf(told).filter((alarm) => alarms.includes(alarm)))
    expect(alarms).toEqual(expect.arrayContaining(['disk-not-writable', `node-silent:${NODE}`]))
    const times = ledger.records.map(({ atMs }) => atMs)
    expect(times).toEqual(times.toSorted((a, b) => a - b))
  })

  it('takes no word that a restart would forget, but hears a hold', async () => {
    const { loop, ledger, dose } = loopAt()
    ledger.disk = disk
    await dose()
    const result = {
      id: 'r',
      sampledAtMs: moment.input.atMs - MINUTE_MS,
      values: [{ element: 'K', mgPerL: 200 }],
    } as const
    expect(await loop.take({ kind: 'laboratory-result', by: 'Ines', result })).toBe(false)
    expect(await loop.take(HOLD)).toBe(false)
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
    ledger.disk = 'well'
    await loop.take({ kind: 'tick' })
    expect(ledger.kinds()).toContain('instructed')
    expect(ledger.kinds()).not.toContain('laboratory')
  })

  it('is told once, however often it fails', async () => {
    const { ledger, told, dose } = loopAt()
    ledger.disk = disk
    await dose()
    await dose()
    expect(told.faults.map(({ reason }) => reason)).toEqual([disk])
  })

  it('is tried at every tick: once it takes rows, all goes on as after a restart, under a newer term and with cold probes', async () => {
    const { loop, ledger, order, dose } = loopAt()
    ledger.disk = disk
    await dose()
    await loop.take({ kind: 'tick' })
    expect(loop.state.safety.diskWritable).toBe(false)
    expect(order).not.toContain('started again')
    ledger.disk = 'well'
    await loop.take({ kind: 'tick' })
    expect(loop.state.safety).toMatchObject({ diskWritable: true, term: 2, readings: {} })
    expect(loop.term).toBe(2)
    expect(order.at(-1)).toBe('started again')
    expect(ledger.kinds().slice(-3)).toContain('started')
    await dose()
    await loop.idle()
    expect(order.filter((what) => /^(allowed|sent)/.test(what))).toEqual([])
  })
})

describe('a ledger on a full disk', () => {
  it('that has room again but none in reserve keeps records, and nothing is dosed before there is', async () => {
    const { loop, ledger, order, dose } = loopAt()
    ledger.disk = 'full'
    await dose()
    Object.assign(ledger, { disk: 'well', reserve: false })
    await loop.take({ kind: 'tick' })
    expect(await loop.take(HOLD)).toBe(true)
    expect(ledger.kinds()).toContain('instructed')
    expect(loop.state.safety.diskWritable).toBe(false)
    ledger.reserve = true
    await loop.take({ kind: 'tick' })
    expect(loop.state.safety.diskWritable).toBe(true)
    expect(order.at(-1)).toBe('started again')
  })

  it('without its reserve at the start keeps records and allows nothing', async () => {
    const { loop, ledger, order } = loopAt()
    ledger.reserve = false
    await loop.take({ kind: 'start', controller: 'tests', term: 9, utcOffsetMin: 0 })
    expect(ledger.kinds()).toContain('started')
    expect(loop.state.safety.diskWritable).toBe(false)
    expect(order.filter((what) => what.startsWith('allowed'))).toEqual([])
  })

  it('holds up no withdrawal of a lease, even where it hangs', async () => {
    const { loop, ledger, clock, order } = loopAt()
    ledger.disk = 'hanging'
    void loop.take(HOLD)
    await new Promise((done) => setImmediate(done))
    expect(order).toEqual(['paused', `withdrawn ${NODE}`])
    clock.advance(7000)
    expect(loop.busyForMs()).toBe(7000)
  })

  it('that hangs lets readings go before the words of people', async () => {
    const { loop, ledger } = loopAt()
    ledger.disk = 'hanging'
    for (let count = 0; count <= 5000; count++) void loop.take(HOLD)
    expect(loop.dropped).toBe(0)
    expect(await loop.take(unstamped(moment))).toBe(false)
    expect(await loop.take({ kind: 'tick' })).toBe(false)
    expect(loop.dropped).toBe(2)
    let isAnswered = false
    void loop.take(HOLD).then(() => {
      isAnswered = true
    })
    await new Promise((done) => setImmediate(done))
    expect(isAnswered).toBe(false)
  })
})

describe('another daemon that takes the reservoir over', () => {
  it('ends this loop: leases withdrawn, nothing sent, nothing taken any more', async () => {
    const { loop, ledger, order, dose } = loopAt()
    ledger.disk = 'taken-over'
    expect(await dose()).toBe(false)
    expect(order).toEqual([`withdrawn ${NODE}`, 'fenced'])
    expect(loop.isStopped).toBe(true)
    ledger.disk = 'well'
    expect(await dose()).toBe(false)
    expect(ledger.entries).toEqual([])
  })
})

describe('a snapshot', () => {
  it('is kept when the loop stops, whole and of the last entry', async () => {
    const { loop, ledger, dose } = loopAt()
    await dose()
    await loop.stop()
    const snapshot = ledger.snapshots.at(-1)
    expect(snapshot?.sequence).toBe(ledger.entries.length)
    const read = decodeSnapshot<ReservoirState>(snapshot!.bytes, HASH)
    expect(read).toEqual({ kind: 'state', state: loop.state })
    expect(await dose()).toBe(false)
  })

  it('is not kept of a state whose records the disk refuses', async () => {
    const { loop, ledger, dose } = loopAt()
    ledger.disk = 'full'
    await dose()
    await loop.stop()
    expect(ledger.snapshots).toEqual([])
  })
})

describe('a broken invariant', () => {
  it('withdraws every lease before it is kept, and takes nothing any more', async () => {
    const { loop, order, told, dose } = loopAt(impossible(moment.state))
    const waiting = [dose(), loop.take(HOLD)]
    expect(await Promise.all(waiting)).toEqual([false, false])
    expect(order).toEqual(['paused', `withdrawn ${NODE}`, 'kept event and instructed', 'broken'])
    expect(told.broken).toEqual([expect.any(TypeError)])
    expect(loop.isStopped).toBe(true)
    expect(await loop.take({ kind: 'tick' })).toBe(false)
  })

  it('starts held: the next daemon allows no pump until a person releases it', async () => {
    const { ledger, clock, dose } = loopAt(impossible(moment.state))
    await dose()
    const { state } = await openReservoir(ledger, SITE, moment.settings, HASH, clock.wallMs())
    expect(state.safety.held).toMatchObject({ by: 'tarnward', reason: expect.stringContaining('fault of its own') })
    const after = automaticAgain(state)
    expect(after.safety.mode).toBe('automatic')
    expect(after.safety.nodes[NODE]).toMatchObject({ online: true, lease: { allowed: false } })
    const released = give(after, { ...HOLD, instruction: { instruction: 'release' } })
    expect(released.safety.nodes[NODE]?.lease.allowed).toBe(true)
  })

  it('leaves a person’s own hold as it stands', async () => {
    const held = give(moment.state, HOLD)
    const { ledger, dose } = loopAt(impossible(held))
    await dose()
    expect(ledger.records).toMatchObject([{ kind: 'event', event: 'program-fault' }])
  })

  it('in the commit is one too, and what the ledger cannot take does not hide it', async () => {
    const { ledger, order, told, dose } = loopAt()
    ledger.disk = 'torn'
    expect(await dose()).toBe(false)
    expect(order).toEqual([`withdrawn ${NODE}`, 'broken'])
    expect(told.broken).toEqual([expect.objectContaining({ message: 'a row that cannot be' })])
  })

  it('in what listens to effects is one too, and its command stays unsent', async () => {
    const { order, ledger, dose } = loopAt(moment.state, {
      onEffect: () => {
        throw new Error('the log is gone')
      },
    })
    await dose()
    expect(order.filter((what) => what.startsWith('sent'))).toEqual([])
    expect(ledger.kinds()).toContain('judged')
    expect(ledger.kinds().slice(-2)).toEqual(['event', 'instructed'])
  })

  it('in the link is one too', async () => {
    const { loop, told, dose } = loopAt(moment.state, {
      link: {
        sendCommand: async () => {
          throw new Error('no such port')
        },
      },
    })
    await dose()
    await expect.poll(() => told.broken).toHaveLength(1)
    expect(loop.isStopped).toBe(true)
  })

  it('told from outside in the middle of a commit keeps the command of that commit from going out', async () => {
    const { loop, ledger, order, dose } = loopAt()
    const taken = dose()
    await loop.fail(new Error('thrown somewhere else'))
    await taken
    expect(order.filter((what) => what.startsWith('sent'))).toEqual([])
    expect(order[0]).toBe(`withdrawn ${NODE}`)
    expect(ledger.kinds().at(-1)).toBe('instructed')
  })

  it('of the clock itself is kept under the time of the state', async () => {
    const { ledger, dose } = loopAt(moment.state, {
      clock: { ...createLockstepClock(0), wallMs: () => Number.NaN },
    })
    expect(await dose()).toBe(false)
    expect(ledger.records.map(({ atMs }) => atMs)).toEqual([moment.state.atMs, moment.state.atMs])
  })
})

function give(state: ReservoirState, input: UnstampedInput, afterMs = 0): ReservoirState {
  return step(moment.settings, state, { ...input, atMs: state.atMs + afterMs } as never).state
}

/** A new start with the node heard and the mode of before. */
function automaticAgain(recovered: ReservoirState): ReservoirState {
  const pumps = configuration.site.stocks.map(({ pump: id }) => ({ id, maxRunMs: 180_000 }))
  const started = give(recovered, { kind: 'start', controller: 'tests', term: 2, utcOffsetMin: 0 }, MINUTE_MS)
  const status = { contract: 1 as const, online: true, boot: 'b', pumps }
  return give(started, { kind: 'node-status', node: NODE, status })
}
