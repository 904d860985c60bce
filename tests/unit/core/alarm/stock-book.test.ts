import { describe, expect, it } from 'vitest'
import { deliver, leftOf, refill, type StockBook } from '../../../../src/core/alarm/stock-book.ts'
import { DAY_MS } from './alarm-bench.ts'

const filled = (): StockBook => refill({}, 'acid', 1_000_000, 0)

describe('the book of a stock', () => {
  it('counts what may have been delivered, and a later word in place of it', () => {
    const doubtful = deliver(filled(), { commandId: 'c1', stock: 'acid', highUl: 8000, isFinal: false })
    expect(leftOf(doubtful['acid']!, DAY_MS).leftMl).toBe(992)
    const settled = deliver(doubtful, { commandId: 'c1', stock: 'acid', highUl: 3000, isFinal: true })
    expect(leftOf(settled['acid']!, DAY_MS)).toEqual({ leftMl: 997, leftShare: 0.997, leftDays: 997 / 3 })
  })

  it('says nothing of days before the first is over, nor of a stock whose refill nobody logged', () => {
    const used = deliver(filled(), { commandId: 'c1', stock: 'acid', highUl: 3000, isFinal: true })
    expect(leftOf(used['acid']!, DAY_MS - 1)).not.toHaveProperty('leftDays')
    expect(deliver({}, { commandId: 'c1', stock: 'calcium', highUl: 1, isFinal: true })).toEqual({})
  })

  it('never holds less than nothing, and begins anew at a refill', () => {
    const over = deliver(filled(), { commandId: 'c1', stock: 'acid', highUl: 2_000_000, isFinal: true })
    expect(leftOf(over['acid']!, 0).leftMl).toBe(0)
    expect(leftOf(refill(over, 'acid', 500_000, DAY_MS)['acid']!, DAY_MS).leftMl).toBe(500)
  })
})
