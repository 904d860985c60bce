import { describe, expect, test } from 'vitest'
import { type Change, complaints, exampleTexts } from './example-texts.ts'

/** The stored site with a base of potassium hydroxide beside its acid, and limits for it. */
function withBase(limits: Readonly<Record<string, string | number>> = {}, stocks = '[alkali]'): readonly Change[] {
  const { site, limits: file } = exampleTexts()
  const acid = /\n {2}- id: acid[\s\S]*?(?=\n\n|\n {2}- id|\n[a-z]|$)/.exec(site.text)?.[0] ?? ''
  const alkali = acid
    .replace('id: acid', 'id: alkali')
    .replace('kind: acid', 'kind: base')
    .replace('nitric acid', 'potassium hydroxide')
    .replace('pump-4', 'pump-9')
  const line = /\n {2}acid: +\{ shotMaxMl.*\}/.exec(file.text)?.[0] ?? ''
  const section = { strengthMeqPerMl: 1, reservoirMinL: 200, shotMaxMeqPerL: 0.04, phFreshS: 180, afterFlowMin: 30 }
  const base = { ...section, phCeiling: 6.4, acidApartMin: 60, ...limits }
  const told = Object.entries(base).map(([key, value]) => `\n  ${key}: ${value}`)
  return [
    { in: 'site', replace: acid, by: `${acid}${alkali}` },
    { in: 'limits', replace: line, by: `${line}${line.replace('acid:', 'alkali:')}` },
    { in: 'limits', replace: '\nacid:', by: `\nbase:\n  stocks: ${stocks}${told.join('')}\n\nacid:` },
  ]
}

describe('a site with acid and a base', () => {
  test('loads where the base has rules of its own', async () => {
    expect(await complaints(...withBase())).toEqual([])
  })

  test.each([
    ['is not listed', withBase({}, '[acid]'), 'base.stocks: found no alkali, allowed every stock of kind base'],
    ['has another strength', withBase({ strengthMeqPerMl: 0.5 }), 'base.strengthMeqPerMl: found 0.5, allowed 1'],
    ['is too much for one shot', withBase({ shotMaxMeqPerL: 0.01 }), 'stocks.alkali.shotMaxMl'],
    ['counts on more water than there is', withBase({ reservoirMinL: 900 }), 'base.reservoirMinL'],
    ['runs up to a pH where nothing is dosed', withBase({ phCeiling: 7.3 }), 'base.phCeiling'],
    ['leaves a pH that nothing mends', withBase({ phCeiling: 5.2 }), 'base.phCeiling: found 5.2, allowed more than'],
  ])('is refused where the base %s', async (_tells, changes, expected) => {
    expect((await complaints(...changes)).join('\n')).toContain(expected)
  })
})

describe('a ration in the limits file', () => {
  const ration = (stocks: string): Change => ({
    in: 'limits',
    replace: '\nacid:',
    by: `\nration:\n  reason: seedlings\n  covers: [conductivity]\n  daysMost: 2\n  makeUpMaxLPerMin: 4\n  stocks: ${stocks}\n\nacid:`,
  })

  test('is of nutrient stocks', async () => {
    expect(await complaints(ration('{ nitrate: { mlPerL: 4, dayMaxMl: 40 } }'))).toEqual([])
    expect((await complaints(ration('{ acid: { mlPerL: 4, dayMaxMl: 40 } }'))).join('\n')).toContain(
      'ration.stocks.acid: found acid, allowed calcium, nitrate or phosphate',
    )
  })

  test('is less than what a day may bring', async () => {
    expect((await complaints(ration('{ nitrate: { mlPerL: 4, dayMaxMl: 90000 } }'))).join('\n')).toContain(
      'ration.stocks.nitrate.dayMaxMl: found 90000, allowed at most stocks.nitrate.dayMaxMl',
    )
  })
})
