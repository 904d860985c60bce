import { describe, expect, it } from 'vitest'
import type { OpenCommand } from '../../src/safety/book.ts'
import * as effect from '../../src/safety/effect.ts'
import { effectFacts } from '../../src/safety/effect-facts.ts'
import {
  type Contrast,
  effectLimitsOf,
  NOTHING_UNVERIFIED,
  type StockEffectState,
  testedStock,
  withFreshEffect,
} from '../../src/safety/effect-state.ts'
import type { Limits, ProbeLimits } from '../../src/safety/limits.ts'
import { initialSafetyState, type RawReading, type SafetyState } from '../../src/safety/state.ts'
import { HOUR, MINUTE, readyBench, SECOND } from './bench.ts'
import { EFFECT, effectLimits } from './effect-bench.ts'

const { closeContrasts, unverified, withReading } = effect
const LIMITS = effectLimits()
const BIN = 2 * MINUTE
const AT = 15_000_000 * BIN
const NO_LEVEL: Limits = { ...LIMITS, probes: LIMITS.probes.filter(({ role }) => role !== 'level') }
const UNCHECKED: Limits = { ...LIMITS, effect: { notChecked: 'a bench' } }
const { effect: _none, ...SILENT } = LIMITS

function levelRead(change: Partial<RawReading> = {}, id = 'level-1'): SafetyState['readings'] {
  const read = { value: 220, quality: 'good' as const, atMs: AT, sameSinceMs: AT, flowingSinceMs: null }
  return { [id]: { ...read, ...change } }
}

function stateOf(change: Partial<SafetyState> = {}): SafetyState {
  return { ...initialSafetyState(LIMITS), readings: levelRead(), ...change }
}

const read = (state: SafetyState, atMs: number, dsPerM = 1.5, limits: Limits = LIMITS) =>
  withReading(limits, state, { atMs, dsPerM })

describe('readings of conductivity', () => {
  it('are gathered by two minutes, with the level of the same moment', () => {
    let state = read(stateOf(), AT, 1.5)
    state = read({ ...state, readings: levelRead({ value: 218 }) }, AT + BIN - 1, 2)
    state = read(state, AT + BIN, 3)
    expect(state.effectBins).toEqual([
      { fromMs: AT, count: 2, sum: 3.5, sumOfSquares: 6.25, levelSumL: 438 },
      { fromMs: AT + BIN, count: 1, sum: 3, sumOfSquares: 9, levelSumL: 218 },
    ])
    expect(read(stateOf({ readings: {} }), AT, 1.5, NO_LEVEL).effectBins).toEqual([
      { fromMs: AT, count: 1, sum: 1.5, sumOfSquares: 2.25, levelSumL: 0 },
    ])
  })

  it('are kept as long as a contrast may want them: 216 times two minutes, less one', () => {
    const bin = (ago: number) => ({ fromMs: AT - ago * BIN, count: 1, sum: 1, sumOfSquares: 1, levelSumL: 220 })
    const kept = read(stateOf({ effectBins: [bin(217), bin(216), bin(215), bin(1)] }), AT).effectBins
    expect(kept.map(({ fromMs }) => (AT - fromMs) / BIN)).toEqual([215, 1, 0])
  })

  it.each<[string, Partial<SafetyState>, number, Limits, boolean]>([
    ['with a level of the same scan', {}, 1.5, LIMITS, true],
    ['with a level as old as a scan may be', { readings: levelRead({ atMs: AT - 180 * SECOND }) }, 1.5, LIMITS, true],
    ['with an older level', { readings: levelRead({ atMs: AT - 180 * SECOND - 1 }) }, 1.5, LIMITS, false],
    ['with a level in doubt', { readings: levelRead({ quality: 'uncertain' }) }, 1.5, LIMITS, false],
    ['over an empty reservoir', { readings: levelRead({ value: 0 }) }, 1.5, LIMITS, false],
    ['over the least of water', { readings: levelRead({ value: 0.001 }) }, 1.5, LIMITS, true],
    ['with no level read', { readings: {} }, 1.5, LIMITS, false],
    ['with a level of no number', { readings: levelRead({ value: Number.NaN }) }, 1.5, LIMITS, false],
    ['that are no number', {}, Number.NaN, LIMITS, false],
    ['before the water has come to rest', { effectQuietUntilMs: AT + 1 }, 1.5, LIMITS, false],
    ['once it has', { effectQuietUntilMs: AT }, 1.5, LIMITS, true],
    ['at a site that checks no effect', {}, 1.5, UNCHECKED, false],
    ['at a site that says nothing of effects', {}, 1.5, SILENT, false],
  ])('%s count: %s', (_what, change, dsPerM, limits, counts) => {
    const before = stateOf(change)
    const after = read(before, AT, dsPerM, limits)
    expect(after === before).toBe(!counts)
    expect(after.effectBins).toHaveLength(counts ? 1 : 0)
  })

  it.each([
    [0.5, true],
    [2.8, true],
    [0.4999, false],
    [2.8001, false],
  ])('of %s dS/m count where the probe’s range allows it: %s', (value, counts) => {
    const bench = readyBench(LIMITS)
    bench.atMs += BIN
    const count = () => bench.state.effectBins.reduce((sum, bin) => sum + bin.count, 0)
    const before = count()
    bench.scan({ 'ec-1': value })
    expect(count() - before).toBe(counts ? 1 : 0)
    bench.atMs += SECOND
    bench.scan({ 'ec-1': value }, 'uncertain')
    expect(count() - before).toBe(counts ? 1 : 0)
  })
})

describe('the volumes by which an effect is checked', () => {
  const showVolumeUl = (limits: Limits, state: SafetyState, stock: string) =>
    effect.showVolumeUl(limits, state, testedStock(limits, stock)!)
  const unverifiedMaxUl = (limits: Limits, state: SafetyState, stock: string) =>
    effect.unverifiedMaxUl(limits, state, testedStock(limits, stock)!)
  const ofTwo = (limits: Limits, least: number, most: number): readonly [number, number] => {
    const twin: ProbeLimits = { id: 'level-2', node: 'bench', role: 'level', min: 0, max: 300 }
    const site = { ...limits, probes: [...limits.probes, twin] }
    const state = stateOf({ readings: { ...levelRead({ value: most }), ...levelRead({ value: least }, 'level-2') } })
    return [showVolumeUl(site, state, 'nitrate'), unverifiedMaxUl(site, state, 'nitrate')]
  }

  it('are whole, by the most water for what shows and by the least for what may be unverified', () => {
    const small = effectLimits({ showDsPerM: 0.01 })
    expect([showVolumeUl(small, stateOf(), 'nitrate'), unverifiedMaxUl(small, stateOf(), 'nitrate')]).toEqual([
      ...[20_000, 100_000],
    ])
    // 0.01 × 221 / 0.11 mL up, 0.05 × 219 / 0.11 mL down
    expect(ofTwo(small, 219, 221)).toEqual([20_091, 99_545])
    expect(ofTwo(small, Number.NaN, 221)).toEqual([Number.NaN, Number.NaN])
    expect(showVolumeUl(NO_LEVEL, stateOf(), 'nitrate')).toBe(40_000)
    const { probes } = NO_LEVEL
    expect(showVolumeUl({ ...small, probes }, stateOf(), 'nitrate')).toBe(23_182)
    expect(unverifiedMaxUl({ ...small, probes }, stateOf(), 'nitrate')).toBe(59_090)
  })

  it('are the same for a stock that lowers conductivity, and no larger than a shot may be', () => {
    const falls = effectLimits({ showDsPerM: 0.01 }, { dsPerMPerMlPerL: -0.11 })
    expect([showVolumeUl(falls, stateOf(), 'nitrate'), unverifiedMaxUl(falls, stateOf(), 'nitrate')]).toEqual([
      ...[20_000, 100_000],
    ])
    expect(showVolumeUl(effectLimits({ showDsPerM: 1 }), stateOf(), 'nitrate')).toBe(40_000)
  })
})

describe('whether a site and a stock are tested', () => {
  it.each<[string, unknown, boolean]>([
    ['nothing', undefined, false],
    ['a reason', { notChecked: 'a bench' }, false],
    ['a blank reason', { notChecked: ' ' }, false],
    ['figures', EFFECT, true],
  ])('a site that says %s', (_what, effect, isTested) => {
    const limits = { ...LIMITS, effect: effect as never }
    expect(effectLimitsOf(limits) !== null).toBe(isTested)
    expect(testedStock(limits, 'nitrate') !== null).toBe(isTested)
    expect(testedStock(limits, 'gone')).toBeNull()
  })

  it.each<[string, object | undefined, boolean]>([
    ['nothing', undefined, false],
    ['its response', { dsPerMPerMlPerL: 0.1 }, true],
    ['a reason', { dsPerMPerMlPerL: 0.1, untold: 'too small' }, false],
    ['a blank reason', { dsPerMPerMlPerL: 0.1, untold: ' ' }, true],
    ['a reason that is no text', { dsPerMPerMlPerL: 0.1, untold: 7 }, true],
  ])('a stock that says %s', (_what, effect, isTested) => {
    const stocks = [{ ...LIMITS.stocks[2]!, effect: effect as never }]
    expect(testedStock({ ...LIMITS, stocks }, 'nitrate') !== null).toBe(isTested)
  })
})

const COMMAND: OpenCommand = {
  ...{
    commandId: 'c-1',
    node: 'bench',
    pump: 'pump-3',
    stock: 'nitrate',
    planId: 'p',
    volumeUl: 40_000,
    runMs: 80_000,
  },
  ...{ rateUlPerS: 500, boot: 'b', startBeforeUptimeMs: 0, judgedAtMs: AT, totalRunMs: 0, doubtMs: 0 },
  ...{ status: 'open', sent: true },
}
const settlement = (highUl: number, atMs = AT + 90 * SECOND) => ({
  ...{ atMs, commandId: 'c-1', stock: 'nitrate', delivered: { lowUl: highUl - 10, highUl } },
})
const effects = (change: Partial<StockEffectState>) => ({ nitrate: { ...NOTHING_UNVERIFIED, ...change } })
const RUNNING: Contrast = { commandId: 'c-0', fromMs: 0, endMs: AT, lowUl: 1, highUl: 2, coversUl: 1000 }

describe('a settled shot', () => {
  it('that is worth it begins a contrast from its verdict to its end, over all that is unverified', () => {
    const next = unverified(LIMITS, stateOf({ effects: effects({ unverifiedUl: 500 }) }), settlement(20_000), COMMAND)
    const contrast = {
      commandId: 'c-1',
      fromMs: AT,
      endMs: AT + 90 * SECOND,
      lowUl: 19_990,
      highUl: 20_000,
      coversUl: 20_500,
    }
    expect(next).toEqual({ state: stateOf({ effects: effects({ unverifiedUl: 20_500, contrast }) }), happenings: [] })
  })

  it.each<[string, number, number, number]>([
    ['of which the news came late ended in time', 40_000, AT + HOUR, AT + 140 * SECOND],
    ['that gave more than was asked may have run until the news', 40_001, AT + HOUR, AT + HOUR],
    ['of which the news came at once ended then', 40_000, AT + SECOND, AT + SECOND],
  ])('%s', (_what, highUl, atMs, endMs) => {
    const { state } = unverified(LIMITS, stateOf(), settlement(highUl, atMs), COMMAND)
    expect(state.effects['nitrate']?.contrast?.endMs).toBe(endMs)
  })

  it.each<[string, number, OpenCommand | undefined, Contrast | null]>([
    ['that is less than half of one that shows', 19_999, COMMAND, null],
    ['that nobody asked for', 20_000, undefined, null],
    ['while another of its stock is measured', 20_000, COMMAND, RUNNING],
  ])('%s is not verified, and begins no contrast', (_what, highUl, command, contrast) => {
    const { state, happenings } = unverified(
      LIMITS,
      stateOf({ effects: effects({ contrast }) }),
      settlement(highUl),
      command,
    )
    expect(state.effects).toEqual(effects({ unverifiedUl: highUl, contrast }))
    expect(happenings).toEqual([])
  })

  it('of a stock that is not tested or not known, a run into a glass and a shot of nothing are measured by nobody', () => {
    for (const [limits, stock] of [
      [LIMITS, 'phosphate'],
      [LIMITS, 'gone'],
      [UNCHECKED, 'nitrate'],
      [SILENT, 'nitrate'],
    ] as const) {
      const { state, happenings } = unverified(limits, stateOf(), { ...settlement(40_000), stock }, COMMAND)
      expect([state.effects[stock]?.contrast, state.effects[stock]?.unverifiedUl, happenings]).toEqual([
        null,
        40_000,
        [],
      ])
    }
    const before = stateOf()
    const glass = { ...settlement(40_000), purpose: 'calibration' as const }
    for (const none of [glass, settlement(0), settlement(Number.NaN)])
      expect(unverified(LIMITS, before, none, COMMAND)).toEqual({ state: before, happenings: [] })
  })

  it('that leaves no room for half a shot that shows is decided on at once: unseen', () => {
    const after = (usedUl: number, change: Partial<StockEffectState> = {}) =>
      unverified(
        LIMITS,
        stateOf({ effects: effects({ unverifiedUl: usedUl - 100, ...change }) }),
        settlement(100),
        undefined,
      )
    expect(after(80_000).happenings).toEqual([])
    const { state, happenings } = after(80_001)
    const figures = { unverifiedUl: 80_001, information: 0, agreement: 0, against: 0 }
    expect(happenings).toMatchObject([
      { kind: 'effect-judged', stock: 'nitrate', decision: 'unseen', ...figures },
      { kind: 'tripped', trip: 'effect-unseen' },
    ])
    expect(happenings[0]).not.toHaveProperty('seen')
    expect(state.effects).toEqual(effects({ unverifiedUl: 80_001 }))
    expect(state.trips).toMatchObject([{ trip: 'effect-unseen', subject: 'nitrate', atMs: AT + 90 * SECOND }])
    expect(state.trips[0]?.why).toContain('80.001 mL of nitrate went out and nothing proves it')
  })

  it('that leaves no room verifies all where enough was seen for it, and trips where that speaks against it', () => {
    const decide = (agreement: number) =>
      unverified(
        LIMITS,
        stateOf({ effects: effects({ unverifiedUl: 90_000, information: 20, agreement, contrast: RUNNING }) }),
        settlement(1),
        COMMAND,
      )
    expect(decide(20).state.effects).toEqual(effects({}))
    expect(decide(20).happenings).toMatchObject([{ decision: 'as-declared', unverifiedUl: 0, information: 0 }])
    const wrong = decide(0)
    expect(wrong.state.effects).toEqual(effects({ unverifiedUl: 90_001, information: 20 }))
    expect(wrong.state.trips).toMatchObject([{ trip: 'effect-none', subject: 'nitrate' }])
    expect(wrong.state.trips[0]?.why).toMatch(/^nitrate has no effect; look/)
  })

  it('says nothing of room while the level is not known', () => {
    const state = stateOf({ readings: {}, effects: effects({ unverifiedUl: 99_999 }) })
    expect(unverified(LIMITS, state, settlement(10), undefined).happenings).toEqual([])
  })
})

describe('a contrast', () => {
  const OVER = AT + 40 * MINUTE
  const open = stateOf({ effects: effects({ unverifiedUl: 1000, contrast: RUNNING }) })

  it('is closed when its last reading is in, and not before', () => {
    expect(closeContrasts(LIMITS, open, OVER - 1)).toEqual({ state: open, happenings: [] })
    const closed = closeContrasts(LIMITS, open, OVER)
    expect(closed.state.effects).toEqual(effects({ unverifiedUl: 1000 }))
    const figures = { unverifiedUl: 1000, information: 0, agreement: 0, against: 0 }
    expect(closed.happenings).toEqual([{ kind: 'effect-judged', stock: 'nitrate', decision: 'undecided', ...figures }])
  })

  it('stays open where nobody checks effects, or a time is no number', () => {
    for (const limits of [UNCHECKED, SILENT, { ...LIMITS, mixingMs: Number.NaN }])
      expect(closeContrasts(limits, open, OVER + HOUR)).toEqual({ state: open, happenings: [] })
    expect(closeContrasts(LIMITS, stateOf(), OVER)).toEqual({ state: stateOf(), happenings: [] })
  })

  it('of a stock that is no longer tested is closed like any other', () => {
    const untold = effectLimits({}, { untold: 'too small to be seen' })
    expect(closeContrasts(untold, open, OVER).state.effects).toEqual(effects({ unverifiedUl: 1000 }))
    expect(closeContrasts(untold, open, OVER).happenings).toMatchObject([{ decision: 'undecided' }])
  })

  it('that verifies takes off what it covers, and leaves what went out since', () => {
    const evidence = { information: 4000, agreement: 4000, against: 1 }
    const state = stateOf({ effects: effects({ unverifiedUl: 1500, contrast: RUNNING, ...evidence }) })
    expect(closeContrasts(LIMITS, state, OVER).state.effects).toEqual(effects({ unverifiedUl: 500 }))
  })

  it('makes the next shot wait: of its own stock always, of another only where that is to be seen as well', () => {
    const waitOf = (stock: string, change: Partial<StockEffectState>, limits: Limits = LIMITS) => {
      const entry = limits.stocks.find((one) => one.stock === stock)!
      const state = stateOf({
        effects: { ...effects({ contrast: RUNNING }), calcium: { ...NOTHING_UNVERIFIED, ...change } },
      })
      return effectFacts(limits, state, entry, AT).effectWaitMs
    }
    expect(waitOf('nitrate', {})).toBe(40 * MINUTE)
    expect(waitOf('calcium', { unverifiedUl: 9999 })).toBe(0)
    expect(waitOf('calcium', { unverifiedUl: 10_000 })).toBe(40 * MINUTE)
    const later = { ...RUNNING, endMs: AT + HOUR }
    expect(waitOf('calcium', { unverifiedUl: 9999, contrast: later })).toBe(100 * MINUTE)
    expect(waitOf('calcium', { unverifiedUl: 10_000, contrast: { ...RUNNING, endMs: 0 } })).toBe(40 * MINUTE)
    expect(waitOf('nitrate', {}, { ...LIMITS, mixingMs: Number.NaN })).toBeNaN()
  })
})

describe('what the interlocks look at', () => {
  const factsOf = (limits: Limits, stock: string, state = stateOf()) =>
    effectFacts(limits, state, limits.stocks.find((one) => one.stock === stock)!, AT)
  const NO_FIGURES = { unverifiedUl: NaN, unverifiedMaxUl: NaN, showUl: NaN, effectWaitMs: NaN }

  it('is what is unverified, with every open command of the stock in full', () => {
    const commands = [
      COMMAND,
      { ...COMMAND, commandId: 'c-2', volumeUl: 7 },
      { ...COMMAND, stock: 'calcium', volumeUl: 900 },
    ]
    const state = stateOf({ effects: effects({ unverifiedUl: 100 }), book: { commands, stocks: {} } })
    const facts = { effectChecked: true, unverifiedMaxUl: 100_000, showUl: 40_000, effectWaitMs: 0 }
    expect(factsOf(LIMITS, 'nitrate', state)).toEqual({ ...facts, unverifiedUl: 40_107 })
    expect(factsOf(LIMITS, 'calcium', state)).toEqual({ ...facts, unverifiedUl: 900 })
  })

  it('is nothing where somebody gave a reason, and no figure where nobody did', () => {
    expect(factsOf(UNCHECKED, 'nitrate')).toEqual({ effectChecked: false, ...NO_FIGURES })
    expect(factsOf(LIMITS, 'phosphate')).toEqual({ effectChecked: false, ...NO_FIGURES })
    expect(factsOf(SILENT, 'nitrate')).toEqual({ effectChecked: true, ...NO_FIGURES })
    expect(factsOf(SILENT, 'phosphate')).toEqual({ effectChecked: true, ...NO_FIGURES })
    const stocks = LIMITS.stocks.map(({ effect: _effect, ...entry }) => entry)
    expect(factsOf({ ...LIMITS, stocks }, 'nitrate')).toEqual({ effectChecked: true, ...NO_FIGURES })
  })

  it('begins anew for a stock that a person looked at, and only if it was ever drawn from', () => {
    const state = stateOf({ effects: effects({ unverifiedUl: 100, against: 1, contrast: RUNNING }) })
    expect(withFreshEffect(state, 'nitrate').effects).toEqual(effects({}))
    expect(withFreshEffect(state, 'calcium')).toBe(state)
  })
})
