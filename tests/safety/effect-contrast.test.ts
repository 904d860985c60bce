import { describe, expect, it } from 'vitest'
import type { OpenCommand } from '../../src/safety/book.ts'
import { withReading } from '../../src/safety/effect.ts'
import { seenOf } from '../../src/safety/effect-contrast.ts'
import type { Contrast } from '../../src/safety/effect-state.ts'
import type { EffectLimits, Limits } from '../../src/safety/limits.ts'
import { initialSafetyState, type SafetyState } from '../../src/safety/state.ts'
import { HOUR, MINUTE, SECOND } from './bench.ts'
import { EFFECT, effectLimits } from './effect-bench.ts'

const BIN = 2 * MINUTE
/** The verdict of the shot: the begin of a bin, so that windows end where bins do. */
const FROM = 15_000_000 * BIN
const MIXED = FROM + 26 * MINUTE
const PER_ML = 0.11
const CONTRAST: Contrast = {
  ...{ commandId: 'c-seen', fromMs: FROM, endMs: FROM + MINUTE, lowUl: 30_000, highUl: 40_000, coversUl: 40_000 },
}
const WITH_LEVEL = effectLimits()
const NO_LEVEL: Limits = { ...WITH_LEVEL, probes: WITH_LEVEL.probes.filter(({ role }) => role !== 'level') }

interface Reading {
  readonly atMs: number
  readonly ec: number
  readonly levelL: number
}

/** Every 40 s: conductivity falls slowly, jitters, and rises by the shot; the level falls by the hour. */
function readings(fromMs = FROM - HOUR, untilMs = MIXED + 20 * MINUTE): Reading[] {
  const all: Reading[] = []
  for (let atMs = fromMs; atMs < untilMs; atMs += 40 * SECOND) {
    const hours = (atMs - FROM) / HOUR
    const jitter = Math.sin(atMs / 7919) * 0.002
    const rise = atMs >= FROM + 10 * MINUTE ? 0.018 : 0
    all.push({ atMs, ec: 1.8 - 0.01 * hours + jitter + rise, levelL: 220 - 2 * hours + jitter })
  }
  return all
}

function stateOf(limits: Limits, all: readonly Reading[], change: Partial<SafetyState> = {}): SafetyState {
  const level = limits.probes.find(({ role }) => role === 'level')
  let state: SafetyState = { ...initialSafetyState(limits), ...change }
  for (const { atMs, ec, levelL } of all) {
    const read = { value: levelL, quality: 'good' as const, atMs, sameSinceMs: atMs, flowingSinceMs: null }
    if (level !== undefined) state = { ...state, readings: { [level.id]: read } }
    state = withReading(limits, state, { atMs, dsPerM: ec })
  }
  return state
}

const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length
const squares = (values: readonly number[]) => values.reduce((sum, value) => sum + value ** 2, 0)

/** The same by ordinary regression over single readings, each at the begin of its two minutes. */
function byReadings(all: readonly Reading[], sinceMs: number, others: number, isLevelFitted: boolean, rest = CONTRAST) {
  const bin = ({ atMs }: Reading) => Math.floor(atMs / BIN) * BIN
  const mixedMs = rest.endMs + 25 * MINUTE
  const within = (from: number, until: number) => all.filter((one) => bin(one) >= from && bin(one) + BIN <= until)
  const before = within(sinceMs, rest.fromMs)
  const after = within(mixedMs, mixedMs + EFFECT.windowMs)
  const levelL = mean(after.map((one) => one.levelL))
  const share = (one: Reading) => mean(all.filter((two) => bin(two) === bin(one)).map((two) => two.levelL)) / levelL
  const y = (one: Reading) => one.ec * (isLevelFitted ? share(one) : 1)
  const [tMean, yMean] = [mean(before.map(bin)), mean(before.map(y))]
  const spread = squares(before.map((one) => bin(one) - tMean))
  const slope = before.reduce((sum, one) => sum + (bin(one) - tMean) * (y(one) - yMean), 0) / spread
  const ahead = mean(after.map(bin)) - tMean
  const residual = squares(before.map((one) => y(one) - yMean - slope * (bin(one) - tMean))) / (before.length - 2)
  const afterMean = mean(after.map(y))
  const scatter = squares(after.map((one) => y(one) - afterMean)) / (after.length - 1)
  const [least, most] = isLevelFitted ? [levelL, levelL] : [130, 255]
  const [low, high] = [(PER_ML * rest.lowUl) / 1000 / most, (PER_ML * rest.highUl) / 1000 / least]
  const ofLine = residual * (1 / before.length + ahead ** 2 / spread) + scatter / after.length
  const variance = ofLine + EFFECT.driftSdDsPerM ** 2 + ((high - low) / 2) ** 2 + others / least ** 2
  return {
    expectedDsPerM: (low + high) / 2,
    seenDsPerM: afterMean - yMean - slope * ahead,
    sdDsPerM: Math.sqrt(variance),
  }
}

const nitrate = (limits: Limits) => limits.stocks.find(({ stock }) => stock === 'nitrate')!
const see = (limits: Limits, state: SafetyState, contrast = CONTRAST) =>
  seenOf(limits, state, nitrate(limits), contrast)

function expectSame(seen: ReturnType<typeof see>, own: ReturnType<typeof byReadings>): void {
  expect(seen).not.toBeNull()
  for (const [name, value] of Object.entries(own))
    expect(seen![name as keyof typeof own] / value, name).toBeCloseTo(1, 6)
}

/** A delivery in the book, and what it does to the variance before it is divided by the water squared. */
const row = (commandId: string, endMs: number, highUl: number) => ({ commandId, endMs, lowUl: 0, highUl })
const booked = (rows: readonly ReturnType<typeof row>[], stock = 'nitrate') => ({
  book: { commands: [], stocks: { [stock]: { rows, lastEndMs: 0 } } },
})
const doubtOf = (highUl: number) => ((PER_ML * highUl) / 1000) ** 2

describe('what a shot did to conductivity', () => {
  it('is what regression over the single readings says, scaled to the water of after', () => {
    const all = readings()
    const own = byReadings(all, FROM - HOUR, 0, true)
    expectSame(see(WITH_LEVEL, stateOf(WITH_LEVEL, all)), own)
    expect(own.seenDsPerM).toBeGreaterThan(0.01)
  })

  it('without a level is unscaled, in all the water that may be there', () => {
    const all = readings()
    expectSame(see(NO_LEVEL, stateOf(NO_LEVEL, all)), byReadings(all, FROM - HOUR, 0, false))
  })

  it('holds what other shots may have done since a mixing before it', () => {
    const all = readings()
    const since = FROM - 25 * MINUTE
    const rows = [
      ...[row('c-seen', FROM + MINUTE, 40_000), row('c-1', since, 2000), row('c-2', since + 1, 3000)],
      row('c-3', FROM + 5 * MINUTE, 5000),
    ]
    const own = byReadings(all, FROM - HOUR, doubtOf(3000) + doubtOf(5000), true)
    expectSame(see(WITH_LEVEL, stateOf(WITH_LEVEL, all, booked(rows))), own)
  })

  it('holds what commands that are not settled may do, and one that left long ago nothing', () => {
    const all = readings()
    const open = (commandId: string, judgedAtMs: number): OpenCommand => ({
      ...{ commandId, node: 'bench', pump: 'pump-3', stock: 'nitrate', planId: 'p', volumeUl: 6000, runMs: 12_000 },
      ...{ rateUlPerS: 500, boot: 'b', startBeforeUptimeMs: 0, judgedAtMs, totalRunMs: 0, doubtMs: 0 },
      ...{ status: 'open', sent: true },
    })
    const commands = [open('c-8', FROM), open('c-9', FROM - 25 * MINUTE - 72_000)]
    const state = stateOf(WITH_LEVEL, all, { book: { commands, stocks: {} } })
    expectSame(see(WITH_LEVEL, state), byReadings(all, FROM - HOUR, doubtOf(6000), true))
  })

  it.each([
    // a quarter of what shows, in the least water: 0.005 dS/m × 130 L / 0.11
    ['a quarter of one that shows', 5910, FROM - 20 * MINUTE],
    ['less than that', 5908, FROM - HOUR],
  ])('draws its line since the last shot of %s had mixed', (_what, highUl, sinceMs) => {
    const all = readings()
    const state = stateOf(WITH_LEVEL, all, booked([row('c-1', FROM - 45 * MINUTE, highUl)]))
    expectSame(see(WITH_LEVEL, state), byReadings(all, sinceMs, 0, true))
  })

  it('draws its line since a shot of another stock by that one’s own response, and at the very quarter', () => {
    const all = readings()
    const of = (highUl: number) =>
      stateOf(WITH_LEVEL, all, booked([row('c-1', FROM - 45 * MINUTE, highUl)], 'phosphate'))
    // 0.02 dS/m for a millilitre in a litre: 0.005 dS/m × 130 L / 0.02
    expectSame(see(WITH_LEVEL, of(32_490)), byReadings(all, FROM - HOUR, 0, true))
    expectSame(see(WITH_LEVEL, of(32_510)), byReadings(all, FROM - 20 * MINUTE, 0, true))
    const exact = effectLimits({}, { dsPerMPerMlPerL: 0.13 })
    const seen = see(exact, stateOf(exact, all, booked([row('c-1', FROM - 45 * MINUTE, 5000)])))
    const short = see(
      exact,
      stateOf(
        exact,
        all.filter((one) => one.atMs >= FROM - 20 * MINUTE),
      ),
    )
    expect(seen).toEqual(short)
  })

  it('is not known where a stock that went in tells no response', () => {
    const stocks = WITH_LEVEL.stocks.map(({ effect, ...entry }) =>
      entry.stock === 'calcium' ? entry : { ...entry, effect },
    )
    const limits = { ...WITH_LEVEL, stocks } as Limits
    const strange = (endMs: number) => stateOf(limits, readings(), booked([row('c-1', endMs, 10)], 'calcium'))
    expect(see(limits, strange(FROM + 5 * MINUTE))).toBeNull()
    expect(see(limits, strange(FROM - 50 * MINUTE))).not.toBeNull()
    expect(see(limits, strange(FROM - 30 * MINUTE))).toBeNull()
  })

  it('draws its line across its own shot, and across one that ended after its verdict', () => {
    const all = readings()
    const own = booked([row('c-seen', FROM - 30 * MINUTE, 40_000)])
    expectSame(see(WITH_LEVEL, stateOf(WITH_LEVEL, all, own)), byReadings(all, FROM - HOUR, 0, true))
    const later = booked([row('c-1', FROM + 1, 40_000)])
    expectSame(see(WITH_LEVEL, stateOf(WITH_LEVEL, all, later)), byReadings(all, FROM - HOUR, doubtOf(40_000), true))
    const just = booked([row('c-1', FROM, 40_000)])
    expect(see(WITH_LEVEL, stateOf(WITH_LEVEL, all, just))).toBeNull()
  })

  it('draws its line for six hours and no longer', () => {
    const all = readings(FROM - 7 * HOUR)
    expectSame(see(WITH_LEVEL, stateOf(WITH_LEVEL, all)), byReadings(all, FROM - 6 * HOUR, 0, true))
  })

  it('is not known where a shot of unknown response went in, or its own is unknown', () => {
    const all = readings()
    const strange = (endMs: number) => stateOf(WITH_LEVEL, all, booked([row('c-1', endMs, 10)], 'gone'))
    expect(see(WITH_LEVEL, strange(FROM + 5 * MINUTE))).toBeNull()
    const { effect: _none, ...bare } = nitrate(WITH_LEVEL)
    expect(seenOf(WITH_LEVEL, stateOf(WITH_LEVEL, all), bare, CONTRAST)).toBeNull()
    const { effect: _site, ...silent } = WITH_LEVEL
    expect(see(silent, stateOf(WITH_LEVEL, all))).toBeNull()
    expect(see(WITH_LEVEL, stateOf(WITH_LEVEL, all), { ...CONTRAST, highUl: Number.NaN })).toBeNull()
    expect(see(WITH_LEVEL, stateOf(WITH_LEVEL, all), { ...CONTRAST, lowUl: Number.NEGATIVE_INFINITY })).toBeNull()
  })

  it('is not known where nothing scatters and nothing drifts', () => {
    const flat = readings().map((one) => ({ ...one, ec: 1.75, levelL: 220 }))
    const still = effectLimits({ driftSdDsPerM: 0 })
    expect(see(still, stateOf(still, flat), { ...CONTRAST, lowUl: 40_000 })).toBeNull()
    expect(see(still, stateOf(still, flat), { ...CONTRAST, lowUl: 39_999 })).not.toBeNull()
  })
})

describe('the readings that a contrast needs', () => {
  const few = (limits: EffectLimits, keep: (one: Reading) => boolean) => {
    const site = { ...WITH_LEVEL, effect: limits }
    return see(site, stateOf(site, readings().filter(keep)))
  }
  const inside = (one: Reading, from: number, until: number) => one.atMs >= from && one.atMs < until

  it('before it are as many as declared, and not one less', () => {
    // three in two minutes
    const last = (count: number) => (one: Reading) => one.atMs >= FROM || one.atMs >= FROM - count * 40 * SECOND
    expect(few({ ...EFFECT, readingsMin: 12 }, last(12))).not.toBeNull()
    expect(few({ ...EFFECT, readingsMin: 13 }, last(12))).toBeNull()
    expect(few({ ...EFFECT, readingsMin: Number.NaN }, () => true)).toBeNull()
  })

  it('after it are as many as declared, and not one less', () => {
    const first = (count: number) => (one: Reading) => one.atMs < MIXED + count * 40 * SECOND
    expect(few({ ...EFFECT, readingsMin: 12 }, first(12))).not.toBeNull()
    expect(few({ ...EFFECT, readingsMin: 13 }, first(12))).toBeNull()
  })

  it('after it lie within the window altogether: of a quarter of an hour fourteen minutes', () => {
    const all = () => true
    expect(few({ ...EFFECT, readingsMin: 21 }, all)).not.toBeNull()
    expect(few({ ...EFFECT, readingsMin: 22 }, all)).toBeNull()
    expect(few({ ...EFFECT, windowMs: 16 * MINUTE, readingsMin: 24 }, all)).not.toBeNull()
    const site = { ...WITH_LEVEL, effect: { ...EFFECT, readingsMin: 21 } }
    expect(see(site, stateOf(site, readings()), { ...CONTRAST, endMs: CONTRAST.endMs + 1 })).toBeNull()
    const between = (one: Reading) => !inside(one, MIXED, MIXED + 14 * MINUTE)
    expect(few({ ...EFFECT, readingsMin: 1 }, between)).toBeNull()
  })
})

describe('a level that jumps', () => {
  /** From a moment on the level stands at a share of what it was. */
  const jumped = (atMs: number, share: number) =>
    readings().map((one) => ({ ...one, levelL: one.atMs >= atMs ? 220 * share : 220 }))
  const seeJump = (atMs: number, share: number) => see(WITH_LEVEL, stateOf(WITH_LEVEL, jumped(atMs, share)))

  it.each([
    ['falls by a little more than 1.5 %', 0.9849, true],
    ['falls by a little less', 0.9851, false],
    ['rises by a little more, of the larger', 1.0153, true],
    ['rises by a little less, of the larger', 1.0152, false],
  ])('after the shot voids what was seen where it %s', (_what, share, isVoid) => {
    expect(seeJump(FROM + 10 * MINUTE, share) === null).toBe(isVoid)
  })

  it('voids from the verdict on to the end of the window after', () => {
    // its moment is the end of the two minutes in which it shows
    expect(seeJump(FROM - 2 * MINUTE, 0.98)).toBeNull()
    expect(seeJump(FROM, 0.98)).toBeNull()
    expect(seeJump(MIXED + 14 * MINUTE, 0.98)).toBeNull()
    expect(seeJump(MIXED + 16 * MINUTE, 0.98)).not.toBeNull()
    const window = { ...WITH_LEVEL, effect: { ...EFFECT, windowMs: 16 * MINUTE } }
    expect(see(window, stateOf(window, jumped(MIXED + 16 * MINUTE, 0.98)))).not.toBeNull()
    expect(see(window, stateOf(window, jumped(MIXED + 14 * MINUTE, 0.98)))).toBeNull()
  })

  it('before the shot lets the line begin once it had mixed', () => {
    const all = jumped(FROM - 45 * MINUTE - MINUTE, 0.98)
    const state = stateOf(WITH_LEVEL, all)
    // it shows in the two minutes that begin 46 min before, and mixing takes 25
    expectSame(see(WITH_LEVEL, state), byReadings(all, FROM - 44 * MINUTE + 25 * MINUTE, 0, true))
  })
})
