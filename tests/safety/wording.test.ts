import { expect, it } from 'vitest'
import { tellDuration, tellValue, tellVolume, tellWait } from '../../src/safety/wording.ts'

it.each([
  [0, '0 ms'],
  [-5, '-5 ms'],
  [849.6, '850 ms'],
  [999, '999 ms'],
  [1000, '1 s'],
  [1551, '1.6 s'],
  [119_949, '119.9 s'],
  [120_000, '2 min'],
  [1_035_000, '17.3 min'],
  [7_199_000, '120 min'],
  [7_200_000, '2 h'],
  [11_500_000, '3.2 h'],
  [Number.NaN, 'an unknown time'],
  [Number.POSITIVE_INFINITY, 'an unknown time'],
])('a duration of %s ms is told as %s', (ms, told) => {
  expect(tellDuration(ms)).toBe(told)
})

it.each([
  [0, '0 ms'],
  [1, '1 s'],
  [1000, '1 s'],
  [1001, '2 s'],
  [119_001, '2 min'],
])('a wait of %s ms is told as %s: nobody comes back too early', (ms, told) => {
  expect(tellWait(ms)).toBe(told)
})

it.each([
  [1, '0.001 mL'],
  [1500, '1.5 mL'],
  [0, '0 mL'],
  [Number.NaN, 'an unknown volume'],
])('a volume of %s µL is told as %s', (ul, told) => {
  expect(tellVolume(ul)).toBe(told)
})

it.each([
  [6.0004, '6'],
  [6.0006, '6.001'],
  [-1.5, '-1.5'],
  [Number.NEGATIVE_INFINITY, 'no number'],
])('a value of %s is told as %s', (value, told) => {
  expect(tellValue(value)).toBe(told)
})
