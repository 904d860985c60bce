import { afterEach, describe, expect, it, vi } from 'vitest'
import { createLockstepClock, createRealClock, createScaledClock, repeat } from '../../../src/shell/clock.ts'
import { type ClockNews, watchClock } from '../../../src/shell/clock-watch.ts'

const START_MS = 1_770_000_000_000

describe('a lockstep clock', () => {
  it('calls timers in the order they fall due, each at its own moment', () => {
    const clock = createLockstepClock(START_MS)
    const seen: [string, number][] = []
    const see = (name: string) => () => seen.push([name, clock.wallMs() - START_MS])
    clock.setTimer(300, see('late'))
    clock.setTimer(100, () => {
      see('early')()
      clock.setTimer(50, see('set meanwhile'))
    })
    const cancel = clock.setTimer(200, see('cancelled'))
    cancel()
    expect(clock.nextTimerInMs()).toBe(100)
    clock.advance(299)
    expect(seen).toEqual([
      ['early', 100],
      ['set meanwhile', 150],
    ])
    clock.advance(1)
    expect(seen.at(-1)).toEqual(['late', 300])
    expect(clock.nextTimerInMs()).toBeUndefined()
  })

  it('repeats until cancelled, from within the call as well', () => {
    const clock = createLockstepClock(START_MS)
    let calls = 0
    const cancel = repeat(clock, 10, () => {
      calls += 1
      if (calls === 3) cancel()
    })
    clock.advance(100)
    expect(calls).toBe(3)
  })
})

describe('clocks that run by themselves', () => {
  afterEach(() => vi.useRealTimers())

  it('a scaled clock runs so many times as fast, timers included', () => {
    vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout', 'performance', 'Date'] })
    const clock = createScaledClock(600, START_MS)
    let firedAtMs = 0
    clock.setTimer(60_000, () => {
      firedAtMs = clock.wallMs()
    })
    vi.advanceTimersByTime(50)
    expect(firedAtMs).toBe(0)
    expect(clock.wallMs() - START_MS).toBe(30_000)
    vi.advanceTimersByTime(50)
    expect(firedAtMs - START_MS).toBe(60_000)
    expect(() => createScaledClock(0, START_MS)).toThrow(RangeError)
  })

  it('a timer of 40 days does not fire at once, as the machine’s own would', () => {
    vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout', 'performance', 'Date'] })
    let fired = false
    createRealClock().setTimer(40 * 86_400_000, () => {
      fired = true
    })
    vi.advanceTimersByTime(39 * 86_400_000)
    expect(fired).toBe(false)
    vi.advanceTimersByTime(86_400_000 + 1)
    expect(fired).toBe(true)
  })
})

describe('the watch over the clock', () => {
  function watched(ledgerLastAtMs: number) {
    const clock = createLockstepClock(START_MS)
    const news: ClockNews[] = []
    const last = { atMs: ledgerLastAtMs }
    watchClock({ clock, ledgerLastAtMs: () => last.atMs, onNews: (item) => news.push(item) })
    return { clock, news, last }
  }

  it('says at once whether the clock is sane, and again only when that changes', () => {
    const { clock, news, last } = watched(START_MS - 1000)
    clock.advance(60_000)
    expect(news).toMatchObject([{ kind: 'sanity', sane: true }])
    last.atMs = clock.wallMs() + 3_600_000
    clock.advance(10_000)
    expect(news.at(-1)).toMatchObject({ kind: 'sanity', sane: false, text: expect.stringContaining('3590 s behind') })
    clock.advance(3_600_000)
    expect(news.map((item) => item.kind === 'sanity' && item.sane)).toEqual([true, false, true])
  })

  it('a board that boots in the past is not sane from the first moment', () => {
    expect(watched(START_MS + 86_400_000).news).toMatchObject([{ kind: 'sanity', sane: false }])
  })

  it.each([
    [3_600_000, 'forward by 3600 s'],
    [-3_600_000, 'back by 3600 s'],
    [60_001, 'forward by 60 s'],
  ])('a step of %i ms is told once', (byMs, words) => {
    const { clock, news } = watched(0)
    clock.advance(5000)
    clock.stepWall(byMs)
    clock.advance(60_000)
    expect(news.filter((item) => item.kind === 'jump')).toMatchObject([{ byMs, text: expect.stringContaining(words) }])
  })

  it('a minute of correction is no jump', () => {
    const { clock, news } = watched(0)
    clock.stepWall(-60_000)
    clock.advance(60_000)
    expect(news.filter((item) => item.kind === 'jump')).toEqual([])
  })
})
