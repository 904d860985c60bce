import { beforeAll, describe, expect, it } from 'vitest'
import type { UnstampedInput } from '../../../src/shell/loop-input.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { alarmsOf, HOLD, loopAt, unstamped } from './loop-bench.ts'
import { type Moment, momentOfDose } from './moment.ts'

let moment: Moment
beforeAll(async () => {
  moment = momentOfDose(await quarryLane('automatic'))
})

describe('a disk that hangs', () => {
  const MODE: UnstampedInput = {
    ...{ kind: 'instruction', by: 'Ines', reason: 'a test' },
    instruction: { instruction: 'mode', mode: 'advise' },
  }

  /** With an append in hand that has hung for 7 s. */
  function hung(first: UnstampedInput = unstamped(moment)) {
    const site = loopAt(moment)
    site.ledger.disk = 'hanging'
    const inHand = site.loop.take(first)
    const later = async (ms = 7000) => {
      site.clock.advance(ms)
      await site.loop.take({ kind: 'tick' })
    }
    return { ...site, inHand, later }
  }

  it('is told by an alarm, and the loop hears on', async () => {
    const { loop, told, clock, later } = hung()
    await later()
    expect(loop.state.safety.diskWritable).toBe(false)
    expect(loop.isKeeping).toBe(false)
    const scan = { ...unstamped(moment) } as Extract<UnstampedInput, { kind: 'scan' }>
    clock.advance(60_000)
    expect(await loop.take(scan)).toBe(false)
    await loop.take({ kind: 'tick' })
    expect(alarmsOf(told)).toContain('disk-not-writable')
    expect(loop.state.atMs).toBe(moment.input.atMs + 67_000)
  })

  it('keeps no hold waiting: pumps are stopped at once, and it is kept when the disk answers', async () => {
    const { loop, ledger, order, later } = hung()
    await later()
    expect(await loop.take(HOLD)).toBe(false)
    expect(order).toContain('paused')
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
    expect(ledger.entries).toEqual([])
    ledger.wake()
    await loop.idle()
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
    const holds = ledger.records.filter(({ kind }) => kind === 'instructed')
    expect(holds).toMatchObject([{ by: 'Ines', instruction: { instruction: 'hold' } }])
  })

  it('answers a hold that was said in its first seconds, once it is known to hang', async () => {
    const { loop, order, later } = hung()
    const answer = loop.take(HOLD)
    expect(order).toEqual(['paused'])
    await later()
    expect(await answer).toBe(false)
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
  })

  it('answers the hold that itself hangs', async () => {
    const { loop, ledger, inHand, later } = hung(HOLD)
    await later()
    expect(await inHand).toBe(false)
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
    ledger.wake()
    await loop.idle()
    expect(loop.state.safety.held).toMatchObject({ by: 'Ines' })
    expect(ledger.records.filter(({ kind }) => kind === 'instructed')).toHaveLength(1)
  })

  it('takes no other word of a person, then or later', async () => {
    const { loop, ledger, later } = hung()
    await later()
    expect(await loop.take(MODE)).toBe(false)
    ledger.wake()
    await loop.idle()
    expect(ledger.records.filter(({ kind }) => kind === 'instructed')).toEqual([])
    expect(loop.state.safety.mode).toBe('automatic')
  })

  it('sends no command that it kept too late: what permitted it may be true no more', async () => {
    const { loop, ledger, order, inHand, later } = hung()
    await later(600_000)
    ledger.wake()
    expect(await inHand).toBe(true)
    await loop.idle()
    expect(ledger.kinds()).toContain('judged')
    expect(order.filter((what) => what.startsWith('sent'))).toEqual([])
    expect(ledger.records.find(({ kind }) => kind === 'settled')).toMatchObject({ outcome: 'not-sent' })
    expect(loop.state.safety.book.commands).toEqual([])
  })

  it('makes no old reading a fresh one', async () => {
    const { loop, ledger, inHand, later } = hung({ kind: 'tick' })
    const waited = loop.take(unstamped(moment))
    await later()
    ledger.wake()
    await inHand
    expect(await waited).toBe(false)
    expect(loop.state.safety.readings).toEqual(moment.state.safety.readings)
  })

  it('is told for how long, in the ledger too, and the loop goes on', async () => {
    const { loop, ledger, told, later, dose } = hung(HOLD)
    await later()
    ledger.wake()
    await loop.idle()
    const event = { event: 'ledger-again', text: expect.stringContaining('no answer for 7 s') }
    expect(ledger.records).toContainEqual(expect.objectContaining({ kind: 'event', ...event }))
    expect(told.effects).toContainEqual(expect.objectContaining({ kind: 'notification', ...event }))
    expect(loop.isKeeping).toBe(true)
    expect(await dose()).toBe(true)
  })

  it('over a snapshot is told as well, and hears for itself as soon as it has answered', async () => {
    const { loop, ledger, clock, told, dose } = loopAt(moment)
    let answer = () => {}
    ledger.putSnapshot = () => new Promise((done) => (answer = done))
    void dose()
    await new Promise((done) => setImmediate(done))
    clock.advance(7000)
    await loop.take({ kind: 'tick' })
    expect(loop.isKeeping).toBe(false)
    answer()
    await loop.idle()
    expect(loop.isKeeping).toBe(true)
    const text = expect.stringContaining('no answer for 7 s')
    expect(told.effects).toContainEqual(expect.objectContaining({ event: 'ledger-again', text }))
  })

  it('that is full when it answers is a full disk', async () => {
    const { loop, ledger, told, later } = hung()
    await later()
    ledger.wake('full')
    await loop.idle()
    expect(told.faults.map(({ reason }) => reason)).toEqual(['full'])
    expect(loop.isKeeping).toBe(false)
    expect(loop.state.safety.diskWritable).toBe(false)
  })
})
