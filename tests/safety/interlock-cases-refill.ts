import { withStock } from './arrangement.ts'
import { type Bench, MINUTE, SECOND } from './bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

const BOTTLE = { bottleUl: 100_000, sinceRefillMaxUl: 90_000, firstShotUl: 9_000_000 }
const ofBottle = (change: object) => withStock('nitrate', { refill: { ...BOTTLE, ...change } })

/** Two shots of 40 mL each, and mixed. */
const eighty = (bench: Bench) => {
  for (let shot = 0; shot < 2; shot += 1) {
    bench.dose('nitrate', 40_000)
    bench.pass(61 * MINUTE)
  }
}

const SERIES = ofBottle({ bottleUl: 9_000_000, sinceRefillMaxUl: 9_000_000, firstShotUl: 2000 })
const afterFirst = (ms: number) => (bench: Bench) => {
  bench.dose('nitrate', 1500)
  bench.pass(ms)
}
const refill = (bench: Bench, agoMs = 0, volumeMl = 100) => {
  bench.refill('nitrate', volumeMl, bench.atMs - agoMs)
}

/** What one filling of a bottle may give. */
export const REFILL_CASES: readonly InterlockCase[] = [
  holds('stock-not-empty', '100 mL out of a bottle of 100 mL', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: eighty,
    volumeUl: 20_000,
  }),
  refuses('stock-not-empty', '100.001 mL out of a bottle of 100 mL', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: eighty,
    volumeUl: 20_001,
  }),
  holds('stock-not-empty', 'a bottle that was refilled', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => {
      eighty(bench)
      refill(bench)
    },
    volumeUl: 40_000,
  }),
  refuses('stock-not-empty', 'a refill of 30 mL', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => refill(bench, 0, 30),
    volumeUl: 30_001,
  }),
  refuses('stock-not-empty', 'a refill of more than the bottle holds', {
    limits: ofBottle({ bottleUl: 30_000, sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => refill(bench, 0, 1000),
    volumeUl: 30_001,
  }),
  refuses('stock-not-empty', 'a refill from before both shots, logged after them', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => {
      eighty(bench)
      refill(bench, 150 * MINUTE)
    },
    volumeUl: 20_001,
  }),
  refuses('stock-not-empty', 'a refill in time to come', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => {
      eighty(bench)
      refill(bench, -1)
    },
    volumeUl: 20_001,
  }),
  refuses('stock-not-empty', 'a refill of no volume', {
    limits: ofBottle({ sinceRefillMaxUl: 9_000_000 }),
    arrange: (bench) => {
      eighty(bench)
      refill(bench, 0, Number.NaN)
    },
    volumeUl: 20_001,
  }),
  refuses('stock-not-empty', 'limits that do not say what the bottle holds', {
    limits: withStock('nitrate', { refill: undefined }),
  }),
  refuses('stock-not-empty', 'a blank reason for not reckoning with the bottle', {
    limits: withStock('nitrate', { refill: { notChecked: ' ' } }),
  }),
  holds('stock-not-empty', 'a bottle that is not reckoned with for a reason', {
    limits: withStock('nitrate', { refill: { notChecked: 'it hangs on a tank of a cubic metre' } }),
  }),

  holds('since-refill-bounded', '90 mL of a filling that may give 90 mL', {
    limits: ofBottle({}),
    arrange: eighty,
    volumeUl: 10_000,
  }),
  refuses('since-refill-bounded', '90.001 mL of it', { limits: ofBottle({}), arrange: eighty, volumeUl: 10_001 }),
  refuses('since-refill-bounded', 'a command that nobody reported on', {
    limits: ofBottle({ sinceRefillMaxUl: 40_000 }),
    arrange: (bench) => bench.mustWish('nitrate', 40_000),
    volumeUl: 1,
  }),

  holds('series-doubled', 'a first shot of 2 mL', { limits: SERIES, volumeUl: 2000 }),
  refuses('series-doubled', 'a first shot of 2.001 mL', { limits: SERIES, volumeUl: 2001 }),
  holds('series-doubled', '3 mL after 1.5 mL', { limits: SERIES, arrange: afterFirst(25 * MINUTE), volumeUl: 3000 }),
  refuses('series-doubled', '3.001 mL after 1.5 mL', {
    limits: SERIES,
    arrange: afterFirst(25 * MINUTE),
    volumeUl: 3001,
  }),
  refuses('series-doubled', 'a first shot of 2.001 mL after a refill', {
    limits: SERIES,
    arrange: (bench) => {
      afterFirst(25 * MINUTE)(bench)
      refill(bench)
    },
    volumeUl: 2001,
  }),
  refuses('series-doubled', 'a run that no command asked for, however large', {
    limits: SERIES,
    arrange: (bench) => {
      bench.run('pump-3', 60_000)
      bench.beat()
    },
    volumeUl: 2001,
  }),

  holds('series-mixed', '25 min after the first shot', { limits: SERIES, arrange: afterFirst(25 * MINUTE) }),
  refuses('series-mixed', '24 min 59.999 s after it', { limits: SERIES, arrange: afterFirst(25 * MINUTE - 1) }),
  holds('series-mixed', 'a series that has reached the normal cap', {
    limits: ofBottle({ bottleUl: 9_000_000, sinceRefillMaxUl: 9_000_000, firstShotUl: 40_000 }),
    arrange: afterFirst(6 * MINUTE),
  }),
  refuses('series-mixed', 'a series a microlitre below it', {
    limits: ofBottle({ bottleUl: 9_000_000, sinceRefillMaxUl: 9_000_000, firstShotUl: 39_999 }),
    arrange: afterFirst(6 * MINUTE + SECOND),
  }),
]
