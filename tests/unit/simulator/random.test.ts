import { describe, expect, it } from 'vitest'
import { createRandom, createWander } from '../../../simulator/random.ts'

describe('chance from a seed', () => {
  it('says the same for the same seed and name, and something else for another', () => {
    const draw = (seed: number, name: string) => {
      const random = createRandom(seed, name)
      return Array.from({ length: 5 }, () => random.uniform())
    }
    expect(draw(1, 'weather')).toEqual(draw(1, 'weather'))
    expect(draw(1, 'weather')).not.toEqual(draw(2, 'weather'))
    expect(draw(1, 'weather')).not.toEqual(draw(1, 'source'))
  })

  it('draws normal deviates with mean 0, deviation 1 and thin tails', () => {
    const random = createRandom(3, 'normal')
    const draws = Array.from({ length: 100_000 }, () => random.normal())
    const mean = draws.reduce((sum, x) => sum + x, 0) / draws.length
    const variance = draws.reduce((sum, x) => sum + (x - mean) ** 2, 0) / draws.length
    expect(Math.abs(mean)).toBeLessThan(0.02)
    expect(variance).toBeCloseTo(1, 1)
    // 5 % of a normal distribution lie beyond 1.96 deviations.
    expect(draws.filter((x) => Math.abs(x) > 1.96).length / draws.length).toBeCloseTo(0.05, 2)
  })

  it('wanders with the deviation and the memory it was given', () => {
    const wander = createWander(createRandom(5, 'wander'), 0.2, 0.8)
    const walk = Array.from({ length: 50_000 }, () => wander.step())
    const variance = walk.reduce((sum, x) => sum + x * x, 0) / walk.length
    const lagged = walk.slice(1).reduce((sum, x, at) => sum + x * walk[at]!, 0) / (walk.length - 1)
    expect(Math.sqrt(variance)).toBeCloseTo(0.2, 1)
    expect(lagged / variance).toBeCloseTo(0.8, 1)
  })
})
