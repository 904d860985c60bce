// A fifth set written without sight of the reader, of ordinary files: sixteen that a careful person reads, and eight that
// ought to be questioned about one thing each.

import { describeBlindSet } from '../support/laboratory-files.ts'

describeBlindSet({
  folder: 'laboratory-fifth',
  asked: {},
  refused: {
    '17-well-screening.csv': [[8, 'no form for Nitrate, allowed Nitrate as NO3-N or Nitrate as NO3']],
    '18-eau-de-forage.csv': [[8, 'no unit for Calcium (Ca)']],
    '19-reservoir-table.csv': [[5, "'Ca (mmol/L)' where line 3 says that all are in meq/L"]],
    '20-feed-tank-repeat.csv': [[16, "'K' (158 mg/L of K) after 'K' (214 mg/L of K) of line 7"]],
    '21-drenaje-micros.csv': [[14, "'1,320' for Hierro (Fe), allowed a number that can be read in one way"]],
    '23-drainwater-verdund.txt': [[22, "'10x verdund' in the text, allowed figures without a factor"]],
    '24-brunnenwasser-tabelle.csv': [[13, "'12. Apr' for Magnesium (Mg)"]],
  },
  held: { '22-borehole-report.txt': 'Its anions are in excess by 35.7 % of all charge' },
})
