import { describe, expect, it } from 'vitest'
import type { ElementName } from '../../../../src/chemistry/element.ts'
import { type Disagreement, explainByForm } from '../../../../src/core/estimate/form-error.ts'

/** A report beside an estimate that is known to about 6 %, mg/L. */
function report(values: Partial<Record<ElementName, readonly [reported: number, believed: number]>>): Disagreement[] {
  return Object.entries(values).map(([element, [reportedMgPerL, believedMgPerL]]) => ({
    ...{ element: element as ElementName, reportedMgPerL, believedMgPerL },
    logSd: 0.08,
  }))
}

describe('a mistake of form in a report, compared with the running estimate', () => {
  it('is nothing where the report agrees within its own uncertainty', () => {
    expect(explainByForm(report({ P: [43, 40], K: [190, 200], Ca: [140, 133] }))).toBeUndefined()
  })

  it('is found where two pass charge and conductivity together: phosphorus as P2O5 and potassium as K2O', () => {
    // Molar masses: P2O5 holds 43.64 % P, K2O 83.01 % K.
    const found = explainByForm(report({ P: [40 / 0.4364, 40], K: [200 / 0.8301, 198], Ca: [131, 133], Mg: [36, 35] }))
    expect(found?.errors.map(({ element }) => element)).toContain('P')
    expect(found?.text).toContain('P looks as if it was given as P2O5')
    expect(found?.misfitAfter).toBeLessThan(found!.misfitBefore / 4)
  })

  it('names both of the pair where the second is beyond doubt as well', () => {
    const found = explainByForm(report({ P: [92, 40], 'NO3-N': [640, 145], K: [200, 198] }))
    expect(found?.errors.map(({ element }) => element).toSorted()).toEqual(['NO3-N', 'P'])
    expect(found?.text).toMatch(/NO3-N looks as if it was given as NO3 \(640 would be 145 mg\/L\)/)
  })

  it('is found where the decimal point of phosphorus slipped', () => {
    const found = explainByForm(report({ P: [3.9, 40], K: [200, 198] }))
    expect(found?.text).toContain(
      'P is ten times too little, as by a slip of the decimal point (3.90 would be 39.0 mg/L)',
    )
  })

  it('is not made up where an element simply was used up', () => {
    expect(explainByForm(report({ P: [25, 40], K: [120, 198] }))).toBeUndefined()
  })
})
