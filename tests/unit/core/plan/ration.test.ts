import { describe, expect, it } from 'vitest'
import type { Headroom } from '../../../../src/core/plan/headroom.ts'
import { nextRation } from '../../../../src/core/plan/ration.ts'

const shotMinUl = { calcium: 500, nitrate: 1000 }

function left(rationUl: Readonly<Record<string, number | undefined>>, lostProbe?: string): Headroom {
  const none = { shotUl: 0, hourUl: 0, dayUl: 0, shotMaxUl: 0, gapMs: 0, notBeforeMs: 0, blockedBy: [] }
  const stocks = Object.entries(rationUl).map(([stock, room]) => ({
    stock,
    ...none,
    ...(room === undefined ? {} : { rationUl: room }),
  }))
  return { stocks, ...(lostProbe === undefined ? {} : { lostProbe }) }
}

describe('the ration shot that is due', () => {
  it('is all that the water allows of the stock that waits for most of its own shots', () => {
    const headroom = left({ calcium: 1200, nitrate: 1900 }, 'ec-1')
    expect(nextRation({ headroom, isEstimatorUnfit: false, shotMinUl })).toEqual({ stock: 'calcium', volumeUl: 1200 })
  })

  it('is none before a stock’s smallest shot is due', () => {
    const headroom = left({ calcium: 499, nitrate: 999 }, 'ec-1')
    expect(nextRation({ headroom, isEstimatorUnfit: false, shotMinUl })).toBeUndefined()
  })

  it('is none while plans can be made and carried out, however much room there is', () => {
    const headroom = left({ calcium: 9000 })
    expect(nextRation({ headroom, isEstimatorUnfit: false, shotMinUl })).toBeUndefined()
    expect(nextRation({ headroom, isEstimatorUnfit: true, shotMinUl })).toEqual({ stock: 'calcium', volumeUl: 9000 })
  })

  it.each([Number.NaN, undefined, 0])('is none where the room is %s', (room) => {
    expect(
      nextRation({ headroom: left({ calcium: room }, 'ph-1'), isEstimatorUnfit: false, shotMinUl }),
    ).toBeUndefined()
  })

  it('is none of a stock whose smallest shot is not known', () => {
    const headroom = left({ silicate: 9000 }, 'ph-1')
    expect(nextRation({ headroom, isEstimatorUnfit: false, shotMinUl })).toBeUndefined()
  })
})
