// A second set written without sight of the reader: twenty files that a careful person reads, ten that ought to be
// questioned. Some of the twenty are questioned here too, and `asked` says about what: none may be read wrongly.

import { describeBlindSet } from '../support/laboratory-files.ts'

describeBlindSet({
  folder: 'laboratory-unseen',
  asked: {
    '02-wasserwerk-latin1.csv': [
      [20, 'Ammonium as NH4'],
      [21, 'Nitrat as NO3'],
      [24, 'Sulfat as SO4'],
    ],
    '06-lims-single-long.csv': [[12, 'Sulfate as SO4']],
    '13-swiss-apostrophe.csv': [[15, 'Sulfat as SO4']],
    '17-nested-results.json': [[59, 'Sulfate as SO4']],
    '18-two-bottles-side-by-side.csv': [[8, "no headings in 26 rows, the first figure being of 'pH'"]],
    '20-dutch-transposed-unit-row.csv': [[4, 'sampled, received or reported']],
  },
  refused: {
    '21-no-units-anywhere.csv': [[6, 'no unit for NO3, allowed mg/L']],
    '22-two-forms-contradict.csv': [[8, '65.5 mg/L of NO3-N) after']],
    '23-soil-report.csv': [[8, "unknown unit 'mg/kg' for Phosphorus, allowed mg/L"]],
    '24-unquoted-decimal-commas.csv': [[2, 'A decimal comma may have split a number']],
    '25-which-bottle.csv': [[1, "'Date'"]],
    '26-ranges-only.csv': [[3, "'68 - 141', a range"]],
    '27-results-pending.csv': [
      [9, "'pending' for Phosphorus"],
      [13, "'to follow'"],
      [16, "'in progress'"],
    ],
    '28-login-page.csv': [[1, 'a web page (HTML)']],
    '29-decimals-mixed.csv': [[7, 'Write all of them in one way']],
    '30-ph-without-its-point.csv': [
      [2, "'71' for pH, allowed a pH from 0 to 14"],
      [8, "'-24.0' for Chloride, allowed 0 or more"],
    ],
  },
})
