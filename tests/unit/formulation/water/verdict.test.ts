import { describe, expect, it } from 'vitest'
import { ELEMENTS, type ElementName } from '../../../../src/chemistry/element.ts'
import { alkalinityToMeqPerL } from '../../../../src/chemistry/hardness.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import type { CriterionName } from '../../../../src/formulation/water/guide.ts'
import { judgeWater, type WaterVerdict } from '../../../../src/formulation/water/verdict.ts'
import { mixWaters, type Water, type WaterFigures, waterOf } from '../../../../src/formulation/water/water.ts'
import { LEAFY_BANDS } from '../recipe/random-recipe.ts'

const LETTUCE = { name: 'lettuce', bands: LEAFY_BANDS, phAim: 5.9, ratio: { Na: 0.25, Cl: 0.35 } }
const PURE = waterOf({ name: 'reverse-osmosis water', mgPerL: { Na: 2, Cl: 3, Ca: 0, Mg: 0 }, alkalinityMeqPerL: 0.06 })

const caCO3 = (mgPerL: number) => alkalinityToMeqPerL(mgPerL, 'mg/L CaCO3')
const water = (mgPerL: WaterFigures['mgPerL'], rest: Partial<WaterFigures> = {}): Water =>
  waterOf({ name: 'well', mgPerL, ...rest })
const verdictOn = (judged: Water): WaterVerdict =>
  judgeWater({ water: judged, crop: LETTUCE, guides: {}, reverseOsmosis: PURE })
const on = (judged: Water, name: CriterionName) => verdictOn(judged).criteria.find((one) => one.name === name)!

describe('sodium and chloride are judged by where they end up', () => {
  it('finds a source of 10 mg/L sodium good: with nothing drained it ends at 40, below the band of 50', () => {
    const sodium = on(water({ Na: 10 }), 'sodium')
    expect(sodium.level).toBe('good')
    expect(sodium.figures['undrainedEndMgPerL']).toBeCloseTo(40, 9)
  })

  it('holds a source of 30 at 50 by letting go (s - p c)/(c - s) = 0.875 L for every litre taken up', () => {
    const sodium = on(water({ Na: 30 }), 'sodium')
    expect(sodium.level).toBe('treat')
    expect(sodium.figures['leachingFraction']).toBeCloseTo((30 - 0.25 * 50) / (50 - 30), 9)
    // the drained balance: what comes in with 1 + f litres is what the crop takes and what drains at the limit
    const f = sodium.figures['leachingFraction']!
    expect(30 * (1 + f)).toBeCloseTo(0.25 * 50 + 50 * f, 9)
  })

  it('asks for as much reverse-osmosis water as brings the source to p c', () => {
    const source = water({ Na: 30 })
    const sodium = on(source, 'sodium')
    const mixed = on(mixWaters(source, PURE, sodium.reverseOsmosisShare!), 'sodium')
    expect(mixed.figure).toBeCloseTo(0.25 * 50, 9)
    expect(mixed.level).toBe('good')
  })

  it('refuses a source that stands above the band, since no draining holds it, and says what mixture serves', () => {
    const verdict = verdictOn(water({ Na: 60, Cl: 20 }))
    expect(verdict.level).toBe('refuse')
    expect(verdict.sentence).toMatch(/^Not as it is, for sodium; with 8\d % of reverse-osmosis water it serves/)
  })

  it('counts the make-up water until the limit: simulating it volume by volume gives the same', () => {
    const sodium = on(water({ Na: 30 }), 'sodium')
    let [level, volumes] = [30, 0]
    for (const step = 1e-4; level < 50; volumes += step) level += (30 - 0.25 * level) * step
    expect(sodium.figures['reservoirVolumesToLimit']).toBeCloseTo(volumes, 3)
  })
})

describe('acid follows alkalinity, not hardness', () => {
  it('makes 166.0 mg/L CaCO3 of 50 mg/L Ca and 10 mg/L Mg', () => {
    // Standard Methods 2340B; a drinking-water reference prints 166.0447 with rounded factors
    expect(on(water({ Ca: 50, Mg: 10 }), 'hardness').figure).toBeCloseTo(166.04, 1)
  })

  it('asks little acid of gypsum water, hard as it is, and says why', () => {
    const gypsum = water({ Ca: 120, Mg: 12, S: 85, Na: 10, Cl: 15 }, { alkalinityMeqPerL: caCO3(50) })
    const verdict = verdictOn(gypsum)
    expect(verdict.acids[0]!.needMeqPerL).toBeLessThan(1.05)
    expect(on(gypsum, 'hardness').figure).toBeGreaterThan(300)
    expect(on(gypsum, 'hardness').meaning).toMatch(/gypsum\), which takes no acid: dose for 0\.999 meq\/L/)
  })

  it('asks much acid of softened water, soft as it is, and sends the grower before the softener', () => {
    const softened = water({ Ca: 4, Mg: 1, Na: 115, Cl: 20, S: 5 }, { alkalinityMeqPerL: caCO3(240) })
    expect(verdictOn(softened).acids[0]!.needMeqPerL).toBeGreaterThan(4.5)
    expect(on(softened, 'hardness').figure).toBeLessThan(20)
    expect(on(softened, 'hardness').meaning).toMatch(/Take the water before the softener/)
    expect(on(softened, 'sodium').level).toBe('refuse')
  })

  it('finds 10 mg/L CaCO3 no reason for acid', () => {
    expect(on(water({ Ca: 5 }, { alkalinityMeqPerL: caCO3(10) }), 'alkalinity').level).toBe('good')
  })

  it('shows for every acid what it brings, and calls phosphoric alone too much for hard water', () => {
    const { acids } = verdictOn(water({ Ca: 82, Mg: 9 }, { alkalinityMeqPerL: caCO3(208), ph: 7.6 }))
    expect(acids.map(({ brings }) => brings.element)).toEqual(['NO3-N', 'P', 'S'])
    expect(acids.map(({ isWithinBand }) => isWithinBand)).toEqual([true, false, true])
    for (const { firstHourMlPer1000L, mlPer1000L, firstHourPh } of acids) {
      expect(firstHourMlPer1000L / mlPer1000L).toBeGreaterThan(0.6)
      expect(firstHourMlPer1000L / mlPer1000L).toBeLessThan(0.8)
      expect(firstHourPh).toBeLessThan(5.9)
    }
  })

  it('mixes in reverse-osmosis water where nitric acid alone would bring more nitrogen than is wanted', () => {
    const hard = on(water({ Ca: 200, Mg: 40 }, { alkalinityMeqPerL: caCO3(700) }), 'alkalinity')
    expect(hard.reverseOsmosisShare).toBeGreaterThan(0.2)
  })

  it('takes an alkalinity that was not measured from the ions, if all of them were, and says so', () => {
    const ions = water({ Ca: 40, Mg: 12, Na: 10, Cl: 18, S: 8, 'NO3-N': 2 })
    expect(ions.alkalinity).toMatchObject({ isFromIons: true })
    expect(on(ions, 'alkalinity').meaning).toMatch(/not measured; from the ions/)
  })

  it('says nothing of acid where neither was measured', () => {
    const verdict = verdictOn(water({ Ca: 40, Na: 10, Cl: 10 }))
    expect(verdict.acids).toEqual([])
    expect(verdict.notMeasured).toContain('alkalinity')
    expect(verdict.sentence).toMatch(/not the last word: alkalinity was not measured/)
  })
})

describe('what comes in small amounts', () => {
  const level = (mgPerL: WaterFigures['mgPerL'], name: CriterionName) => on(water(mgPerL), name).level

  it('counts boron in up to the aim, watches it up to the band and treats beyond', () => {
    expect([0.1, 0.4, 0.8].map((B) => level({ B }, 'boron'))).toEqual(['good', 'watch', 'treat'])
  })

  it('does the same for zinc, copper, manganese, sulfate and nitrate', () => {
    const cases: readonly [ElementName, CriterionName, number][] = [
      ['Zn', 'zinc', 0.9],
      ['Cu', 'copper', 0.3],
      ['Mn', 'manganese', 1.4],
      ['S', 'sulfate', 150],
      ['NO3-N', 'nitrate', 250],
    ]
    for (const [element, name, tooMuch] of cases) {
      expect(level({ [element]: 0.01 }, name), name).toBe('good')
      expect(level({ [element]: tooMuch }, name), name).toBe('treat')
    }
  })

  it('finds iron a matter of clogging, and not of food', () => {
    expect([0.1, 0.5, 2].map((Fe) => level({ Fe }, 'iron'))).toEqual(['good', 'watch', 'treat'])
    expect(on(water({ Fe: 0.5 }), 'iron').meaning).toMatch(/not counted in/)
  })

  it('takes up 2 mg/L of chlorine with 5 g of ascorbic acid in 1000 L, and warns of acid', () => {
    // one molecule of ascorbic acid (176.12) for one of chlorine (70.90)
    const { remedies } = on(water({}, { chlorineMgPerL: 2 }), 'chlorine')
    expect(remedies.join(' ')).toMatch(/Or 5 g of ascorbic acid per 1000 L/)
    expect(remedies.join(' ')).toMatch(/before any acid goes in: acid with hypochlorite gives off chlorine/)
  })

  it('does not let chloramine stand', () => {
    expect(on(water({}, { chloramineMgPerL: 2 }), 'chloramine').remedies[0]).toMatch(/standing does not help/)
  })

  it('watches fluoride for sensitive plants', () => {
    expect(on(water({}, { fluorideMgPerL: 1 }), 'fluoride').level).toBe('watch')
  })
})

describe('two waters mixed half and half', () => {
  it('have the mean of every element and of the alkalinity', () => {
    const [a, b] = [
      water({ Ca: 82, Na: 14 }, { alkalinityMeqPerL: 4 }),
      water({ Ca: 10, Na: 50 }, { alkalinityMeqPerL: 1 }),
    ]
    const mixed = mixWaters(a, b, 0.5)
    expect(mixed.alkalinity!.meqPerL).toBeCloseTo(2.5, 9)
    const mean = Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, name === 'Ca' ? 46 : name === 'Na' ? 32 : 0))
    for (const e of ELEMENTS.keys()) expect(mixed.mmolPerL[e]).toBeCloseTo(mean[e]!, 9)
  })
})
