// A sixth set written without sight of the reader, of ordinary files: sixteen that a careful person reads, and eight that
// ought to be questioned about one thing each.

import { describeBlindSet } from '../support/laboratory-files.ts'

describeBlindSet({
  folder: 'laboratory-sixth',
  asked: {},
  refused: {
    '17-wells-ec-ph.csv': [
      [4, 'a pH of 0.51 beside 7.4 mS/cm, which fit the ions better in each other’s place'],
      [5, 'a pH of 0.36 beside 7.7 mS/cm, which fit the ions better in each other’s place'],
    ],
    '19-naringslosning.csv': [[12, 'two forms, K2O and K, for Kalium (K2O)']],
    '20-reservoir-fill-water.csv': [[5, 'no form for Alkalinity, allowed alkalinity as CaCO3, as HCO3, or in meq/L']],
    '21-brunnen-zwei-flaschen.csv': [[10, "'03.03.2026' where line 2 says '12.05.2026'"]],
    '22-reservoir-april.txt': [[6, "'31 April 2026', allowed a day that can be read in one way"]],
    '23-agua-do-furo.csv': [[13, "the mark 'E' beside a figure, of which line 21 says 'valor estimado"]],
    '24-lettuce-tank-nitrogen.txt': [[13, 'Nitrogen, total (N) 182 and no nitrate']],
  },
  held: { '18-farm-well-balance.txt': 'Its anions are in excess by 18.9 % of all charge' },
})
