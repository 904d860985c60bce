// The model of other limits against the simulator run again with them, same seed: ten days of the longer bench.

import { expect, test } from 'vitest'
import { limitsAgain, loadQuarryLane } from '../support/limits-again.ts'

const SHARE = 0.05
const LITRES = 0.08
/** An interval no wider than this is a plain answer. */
const SURE = 0.1

test('without nitrate to dose, shares in band and litres come out as in the simulator', async () => {
  const changes = { 'stocks.nitrate.shotMaxMl': 0.1, 'stocks.nitrate.hourMaxMl': 0.1, 'stocks.nitrate.dayMaxMl': 0.1 }
  const { was, wouldBe } = limitsAgain(await loadQuarryLane(), { days: 18, seed: 7101, changes })
  for (const { elements, simulatedL, modelL } of [was, wouldBe]) {
    for (const { name, simulated, model } of elements) {
      // along an edge the side is chance, and the interval says so
      const isSure = model.high90 - model.low90 <= SURE
      if (isSure) expect(Math.abs(model.share - simulated), name).toBeLessThanOrEqual(SHARE)
      expect(simulated, name).toBeGreaterThanOrEqual(model.low90 - SHARE)
      expect(simulated, name).toBeLessThanOrEqual(model.high90 + SHARE)
    }
    expect(Math.abs(modelL - simulatedL)).toBeLessThanOrEqual(LITRES * simulatedL)
  }
  // it is no test where nothing leaves its band
  expect(Math.min(...wouldBe.elements.map(({ simulated }) => simulated))).toBeLessThan(0.9)
})
