import { describe, expect, it } from 'vitest'
import { isComplete, isNotChecked, type Limits, type StockLimits } from '../../src/safety/limits.ts'
import { HOUR, LIMITS, MINUTE, SECOND } from './bench.ts'

const BASE = {
  ...{ meqPerMl: 1, reservoirMinL: 200, shotMaxMeqPerL: 0.04, phFreshMs: 180 * SECOND },
  ...{ phCeiling: 6.6, afterFlowMs: 30 * MINUTE, acidApartMs: HOUR },
}
const SITE: Limits = {
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry) => (entry.stock === 'phosphate' ? { ...entry, base: true } : entry)),
  base: BASE,
}

const complete = (limits: Limits, stock: string) =>
  isComplete(limits, limits.stocks.find((entry) => entry.stock === stock)!)

function withEntry(stock: string, change: Partial<StockLimits>): Limits {
  return { ...SITE, stocks: SITE.stocks.map((entry) => (entry.stock === stock ? { ...entry, ...change } : entry)) }
}

const NO_FIGURE = [Number.NaN, Number.POSITIVE_INFINITY, undefined as never, -1]
const OF_STOCK = ['rateUlPerS', 'shotMaxUl', 'hourMaxUl', 'dayMaxUl', 'gapMs'] as const
const OF_SITE = ['startWindowMs', 'mixingMs'] as const
const OF_ACID = ['meqPerMl', 'reservoirMinL', 'shotMaxMeqPerL', 'phFloor', 'phFreshMs', 'afterFlowMs'] as const
const OF_BASE = [
  ...(['meqPerMl', 'reservoirMinL', 'shotMaxMeqPerL', 'phCeiling', 'phFreshMs', 'afterFlowMs'] as const),
  'acidApartMs',
] as const
/** Waits may be none; every other figure is more than nothing. */
const MAY_BE_ZERO = new Set(['gapMs', 'afterFlowMs', 'acidApartMs'])

describe('an entry of the limits', () => {
  it.each(OF_STOCK)('is none without its %s', (figure) => {
    for (const value of NO_FIGURE) expect(complete(withEntry('nitrate', { [figure]: value }), 'nitrate')).toBe(false)
    expect(complete(withEntry('nitrate', { [figure]: 0 }), 'nitrate')).toBe(MAY_BE_ZERO.has(figure))
    expect(complete(withEntry('nitrate', { [figure]: Number.MIN_VALUE }), 'nitrate')).toBe(true)
    // and says nothing of another stock
    expect(complete(withEntry('calcium', { [figure]: Number.NaN }), 'nitrate')).toBe(true)
  })

  it.each(OF_SITE)('needs %s of the site, where it is asked for', (figure) => {
    for (const value of [...NO_FIGURE, 0]) {
      const limits = { ...SITE, [figure]: value }
      for (const stock of ['acid', 'phosphate']) expect(complete(limits, stock)).toBe(false)
      expect(complete(limits, 'nitrate')).toBe(figure === 'mixingMs')
    }
    expect(complete({ ...SITE, [figure]: 1 }, 'acid')).toBe(true)
  })

  it('needs every wait apart that it names, and every one that names it', () => {
    for (const ms of NO_FIGURE) {
      const own = withEntry('nitrate', {
        apart: [
          { from: 'calcium', ms: 1 },
          { from: 'acid', ms },
        ],
      })
      for (const stock of ['nitrate', 'acid']) expect(complete(own, stock)).toBe(false)
      for (const stock of ['calcium', 'phosphate']) expect(complete(own, stock)).toBe(true)
    }
    const none = withEntry('nitrate', { apart: [{ from: 'acid', ms: 0 }] })
    for (const stock of ['nitrate', 'acid']) expect(complete(none, stock)).toBe(true)
  })

  it.each(OF_ACID)('of an acid needs %s of the rules for acid', (figure) => {
    for (const value of NO_FIGURE) {
      const limits = { ...SITE, acid: { ...SITE.acid!, [figure]: value } }
      expect(complete(limits, 'acid')).toBe(false)
      expect(complete(limits, 'phosphate')).toBe(true)
    }
    expect(complete({ ...SITE, acid: { ...SITE.acid!, [figure]: 0 } }, 'acid')).toBe(MAY_BE_ZERO.has(figure))
  })

  it.each(OF_BASE)('of a base needs %s of the rules for base', (figure) => {
    for (const value of NO_FIGURE) {
      const limits = { ...SITE, base: { ...BASE, [figure]: value } }
      expect(complete(limits, 'phosphate')).toBe(false)
      expect(complete(limits, 'acid')).toBe(true)
    }
    expect(complete({ ...SITE, base: { ...BASE, [figure]: 0 } }, 'phosphate')).toBe(MAY_BE_ZERO.has(figure))
  })

  it('of acid or base is none where the site has no rules for it', () => {
    const { acid: _acid, base: _base, ...bare } = SITE
    expect(['acid', 'phosphate', 'nitrate'].map((stock) => complete(bare, stock))).toEqual([false, false, true])
  })

  it('of a base is none while any stock is marked acid and base', () => {
    const both = withEntry('nitrate', { acid: true, base: true })
    expect(['acid', 'phosphate', 'nitrate', 'calcium'].map((stock) => complete(both, stock))).toEqual([
      ...[true, false, false, true],
    ])
  })
})

describe('a reason for leaving a check out', () => {
  it.each([undefined, null, 'a reason', 7, {}, { notChecked: '' }, { notChecked: ' \t' }, { notChecked: 7 }])(
    '%j is none',
    (value) => {
      expect(isNotChecked(value)).toBe(false)
    },
  )

  it('is one where somebody gave it', () => {
    expect(isNotChecked({ notChecked: ' bench ' })).toBe(true)
  })
})
