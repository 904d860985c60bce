// A fourth set written without sight of the reader: sixteen files that a careful person reads, four of which are still
// asked about, and eight that ought to be questioned about one thing each.

import { describeBlindSet } from '../support/laboratory-files.ts'

describeBlindSet({
  folder: 'laboratory-fourth',
  asked: {
    '06-drenaggio-barre.txt': [[8, 'no form for Nitrati, allowed Nitrati as NO3-N or Nitrati as NO3']],
    '13-ylivaluma.tsv': [[6, "the first figure being of 'pH'"]],
    '14-studna-protokol.txt': [[1, 'no headings in 24 rows']],
    '15-sulama-suyu.csv': [[6, "the first figure being of 'pH'"]],
  },
  refused: {
    '17-zone-year-summary.csv': [[2, "'Minimum', a summary of many samples, not one bottle"]],
    '18-drain-two-units.tsv': [[5, "the unit 'mmol/l' in a heading beside a column of units"]],
    '19-dilution-pending.json': [[5, "found 'run'"]],
    '20-ec-falsche-einheit.csv': [[3, '2310 mS/cm for EC 25 °C [mS/cm], allowed 0 to 300 mS/cm']],
    '21-ossidi-in-nota.csv': [[22, "'come ossidi' in the text and 'Fosforo' among the figures"]],
    '22-punto-o-coma.csv': [[8, "'67,1', allowed numbers with a decimal point"]],
    '23-page-autre-client.txt': [
      [19, "'26-3301' where line 2 says '26-3310' for dossier"],
      [20, "with none of the analytes of 'Drainage concombre, chapelle 6' in line 3"],
    ],
    '24-flags-over-range.csv': [
      [5, "the flag 'E' for Nitrate as N"],
      [10, "the flag 'E' for Potassium"],
    ],
  },
})
