import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../../../src/chemistry/element.ts'
import { renewalOf, renewed } from '../../../../src/formulation/amend/renewal.ts'
import { amended, BANDS, gramsOf, LEAFY_SHELF, MICROS, mgIn, mmolOf, questionFor, shelfOf } from './bench.ts'

describe('amending only', () => {
  it('a reservoir at its aims needs nothing', () => {
    const question = questionFor({})
    const { amendOnly, advised, renewAndAmend, better } = amended(question)
    expect(gramsOf(question, amendOnly)).toEqual({})
    expect({ advised, renewAndAmend, better }).toEqual({ advised: 'amend-only', renewAndAmend: undefined, better: [] })
  })

  it('potassium alone short, nitrate at its aim: potassium sulfate, and the grams are those of the sum', () => {
    // 20 mg/L of K in 220 L: 4.4 g of K, and potassium sulfate is 44.87 % K
    const question = questionFor({ K: 120, S: 25 }, { shelf: shelfOf('potassium sulfate') })
    const { amendOnly } = amended(question)
    const brought = mgIn(amendOnly, 'K') - 120
    expect(gramsOf(question, amendOnly)['potassium sulfate']).toBeCloseTo((brought * 220) / 1000 / 0.4487, 1)
    expect(mgIn(amendOnly, 'S') - 25).toBeCloseTo((brought * 0.184) / 0.4487, 1)
  })

  it('everything low comes into band, and nothing is pushed over', () => {
    const low = Object.fromEntries(ELEMENTS.map((name, at) => [name, BANDS[at]!.aim === 0 ? 0 : 0.001]))
    const { amendOnly } = amended(questionFor({ ...low, Na: 5, Cl: 5 }))
    expect(amendOnly.outOfBand).toEqual([])
  })

  it('potassium sulfate rather than nitrate where nitrate is over already, and the note says why', () => {
    const question = questionFor({ 'NO3-N': 235, K: 90, S: 40 })
    const answer = amended(question)
    const grams = gramsOf(question, answer.amendOnly)
    expect(grams['potassium sulfate']).toBeGreaterThan(10)
    expect(grams['potassium nitrate'] ?? 0).toBe(0)
    expect(answer.notes.find(({ element }) => element === 'K')!.text).toMatch(
      /potassium sulfate .*potassium nitrate would bring NO3-N, which is over/,
    )
    expect(answer.notes.find(({ element }) => element === 'NO3-N')!.verdict).toBe('still high')
  })

  it('a salt that is missing from the shelf is named where it is the better answer', () => {
    const shelf = shelfOf('potassium nitrate', 'calcium nitrate', ...MICROS)
    const { better } = amended(questionFor({ 'NO3-N': 225, K: 90, S: 40 }, { shelf }))
    expect(better[0]).toMatchObject({ name: 'potassium sulfate' })
    expect(better[0]!.grams).toBeGreaterThan(10)
  })

  it('zinc over its edge is never raised, whatever else the salt would bring', () => {
    const stock = { name: 'micronutrient blend', mmolPerG: mmolOf({ Fe: 100, Mn: 30, Zn: 20 }) }
    const { amendOnly } = amended(questionFor({ Fe: 0.5, Mn: 0.1, Zn: 0.6 }, { shelf: [stock], catalogue: [] }))
    expect(mgIn(amendOnly, 'Zn')).toBeCloseTo(0.6, 9)
    expect(amendOnly.recipe.unmet.find(({ element }) => element === 'Fe')!.why).toMatch(/Zn comes with micronutrient/)
  })

  it('twice the volume takes twice the grams, and the mean of two reservoirs lies between them', () => {
    const small = questionFor({ K: 100, P: 12 })
    const large = { ...small, volumeL: 440 }
    const [one, two] = [gramsOf(small, amended(small).amendOnly), gramsOf(large, amended(large).amendOnly)]
    for (const [name, grams] of Object.entries(one)) expect(two[name]! / grams).toBeCloseTo(2, 6)
  })
})

describe('renewing a part first', () => {
  it('sodium over its edge: exactly the share that takes it there, by the balance of water', () => {
    // (62 - 50) / (62 - 13) of the solution
    const { renewAndAmend, advised } = amended(questionFor({ Na: 62 }))
    expect(renewAndAmend!.renewal.share).toBeCloseTo((62 - 50) / (62 - 13), 3)
    expect(mgIn(renewAndAmend!, 'Na')).toBeLessThanOrEqual(50.01)
    expect(advised).toBe('renew-and-amend')
  })

  it('goes in slices of at most a tenth, which together leave the share that was asked for', () => {
    for (const share of [0.03, 0.1, 0.25, 0.6, 0.9]) {
      const { slices, sliceShare, dischargeL } = renewalOf(share, 220)
      expect(sliceShare).toBeLessThanOrEqual(0.1 + 1e-12)
      expect((1 - sliceShare) ** slices).toBeCloseTo(1 - share, 9)
      expect(dischargeL).toBeCloseTo(slices * sliceShare * 220, 9)
    }
    expect(renewalOf(0.1, 220).slices).toBe(1)
  })

  it('several slices one after another are the mixture that is reckoned with', () => {
    const [used, water] = [mmolOf({ Na: 80, K: 200 }), mmolOf({ Na: 10, K: 2 })]
    const { slices, sliceShare } = renewalOf(0.4, 220)
    let stepwise = used
    for (let slice = 0; slice < slices; slice++) stepwise = renewed(stepwise, water, sliceShare)
    const atOnce = renewed(used, water, 0.4)
    for (const [at, mmol] of atOnce.entries()) expect(stepwise[at]).toBeCloseTo(mmol, 9)
  })

  it('a share a little smaller would not serve', () => {
    const question = questionFor({ Na: 70, Cl: 90, K: 100 })
    const { renewAndAmend } = amended(question)
    const share = renewAndAmend!.renewal.share - 0.01
    const before = renewed(question.used.mmolPerL, question.newWaterMmolPerL, share)
    expect(before.some((mmol, at) => mmol > BANDS[at]!.high)).toBe(true)
  })

  it('only what the crop takes up itself is over: nothing is thrown away for it', () => {
    const { advised, advice } = amended(questionFor({ 'NO3-N': 240, K: 320 }))
    expect(advised).toBe('amend-only')
    expect(advice).toMatch(/NO3-N and K stays high, and the crop brings that down/)
  })

  it('a source water that brings the sodium itself: no renewal is proposed, and shelf and water are pointed at', () => {
    const newWaterMmolPerL = mmolOf({ Na: 70, Cl: 20 })
    const { advised, advice, renewAndAmend } = amended(questionFor({ Na: 75 }, { newWaterMmolPerL }))
    expect(renewAndAmend).toBeUndefined()
    expect(advised).toBe('amend-only')
    expect(advice).toMatch(/Na would stay out of band after a fresh start as well/)
  })

  it('so much is over that slices would let more go than the whole: a fresh start', () => {
    const { advised, startAfresh, renewAndAmend } = amended(questionFor({ Na: 300, Cl: 380 }))
    expect(advised).toBe('start-afresh')
    expect(startAfresh.dischargeL).toBe(220)
    expect(renewAndAmend?.dischargeL ?? Infinity).toBeGreaterThanOrEqual(220)
  })
})

describe('starting afresh', () => {
  it('fills the whole volume from the new water and counts what it brings', () => {
    const { startAfresh } = amended(questionFor({ Na: 62 }))
    expect(startAfresh.waterL).toBe(220)
    expect(startAfresh.outOfBand).toEqual([])
    expect(mgIn(startAfresh, 'Ca')).toBeGreaterThan(80)
    expect(mgIn(startAfresh, 'Cl')).toBeCloseTo(14, 6)
  })
})

describe('a note for every element', () => {
  it('fifteen of them, in order, none for what is in band and left alone', () => {
    const { notes } = amended(questionFor({ K: 100 }))
    expect(notes.map(({ element }) => element)).toEqual([...ELEMENTS])
    expect(notes.find(({ element }) => element === 'Cl')).toMatchObject({ verdict: 'in band', text: '' })
    expect(notes.find(({ element }) => element === 'K')!.verdict).toBe('brought in')
  })

  it('what was not measured is taken at its aim, and the note says so', () => {
    const question = questionFor({})
    const used = { ...question.used, unmeasured: ['Mo' as const] }
    const note = amended({ ...question, used }).notes.find(({ element }) => element === 'Mo')!
    expect(note).toMatchObject({ isMeasured: false })
    expect(note.text).toMatch(/Not in the report/)
  })

  it('an element that no salt on the shelf carries stays low, with the reason', () => {
    const shelf = LEAFY_SHELF.filter(({ name }) => name !== 'boric acid')
    const { notes, better } = amended(questionFor({ B: 0.05 }, { shelf }))
    expect(notes.find(({ element }) => element === 'B')).toMatchObject({ verdict: 'still low' })
    expect(notes.find(({ element }) => element === 'B')!.text).toMatch(/no salt on the shelf carries it/)
    expect(better[0]).toMatchObject({ name: 'boric acid', cures: ['B'] })
  })
})

it('a volume of nothing is a fault of the caller', () => {
  expect(() => amended(questionFor({}, { volumeL: 0 }))).toThrow('0 L')
})
