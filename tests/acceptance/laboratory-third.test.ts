// A third set written without sight of the reader: sixteen files that a careful person reads, eight that ought to be
// questioned about one thing each.

import { describeBlindSet } from '../support/laboratory-files.ts'

describeBlindSet({
  folder: 'laboratory-third',
  asked: {},
  refused: {
    '17-kalium-zonder-eenheid.csv': [[10, 'no unit for Kalium, allowed mg/L']],
    '18-nitrate-of-what.csv': [
      [4, 'As NO3-N it is 18 mg/L of NO3-N, as NO3 it is 4.07 mg/L of NO3-N.'],
      [5, 'no form for Nitrate'],
    ],
    '19-calcium-deux-fois.txt': [[15, "'Calcium' (128 mg/L of Ca) after 'Calcium' (82 mg/L of Ca) of line 7"]],
    '20-which-month.csv': [[3, 'It may be 2026-03-04 or 2026-04-03']],
    '21-ph-imposible.csv': [[5, "'71' for pH, allowed a pH from 0 to 14"]],
    '22-magnesium-see-remark.json': [[13, "'see remark 3' for Mg, allowed a number"]],
    '23-zwei-flaschen.tsv': [[5, "a second column of this kind, 'Messwert'"]],
    '24-przewodnosc-za-mala.txt': [
      [6, '0.00245 mS/cm for Przewodność (25 °C), where the ions beside it conduct about'],
    ],
  },
  isOnly: true,
})
