import { describe, expect, it } from 'vitest'
import { plan } from '../../../../src/core/plan/planner.ts'
import { duration, figure, listed, shareInWords } from '../../../../src/core/plan/wording.ts'
import {
  AT_MS,
  benchInput,
  forecastFor,
  HOUR_MS,
  STOCKS,
  stock,
  VOLUME_L,
  withHeadroom,
  withLevels,
  withSettings,
} from './plan-fixture.ts'

const reasonOf = (input: Parameters<typeof plan>[0], id: string) => plan(input).doses.find((dose) => dose.stock === id)
const noteOf = (input: Parameters<typeof plan>[0], kind: string, element?: string) =>
  plan(input).notes.find((note) => note.kind === kind && note.element === element)

describe('the reason for a dose', () => {
  it('names level, doubt, aim, uptake, the share of the gap and why it is small', () => {
    const input = withLevels(benchInput({ sampleAgeDays: 11 }), { K: 172 }, { K: 14 })
    expect(reasonOf(input, 'nitrate')).toMatchObject({
      element: 'K',
      reason:
        'potassium is about 172 ± 14 mg/L, aim 200; the crop takes 0.89 mg/L an hour; a third of the gap a day because the last laboratory value is 11 days old.',
    })
  })

  it('says that no laboratory value has come yet', () => {
    const input = withLevels(benchInput({ sampleAgeDays: undefined }), { K: 172 }, { K: 30 })
    expect(reasonOf(input, 'nitrate')?.reason).toContain('because no laboratory value has come yet')
  })

  it('writes nitrogen with its form', () => {
    const input = withLevels(benchInput(), { 'NO3-N': 120, K: 240 }, { 'NO3-N': 2 })
    expect(reasonOf(input, 'nitrate')).toMatchObject({
      element: 'NO3-N',
      reason: expect.stringMatching(/^NO3-N is about 120 ± 2 mg\/L, aim 150;/),
    })
  })

  it('says that an element at its aim is only replaced, and what the water brings of it', () => {
    expect(reasonOf(benchInput({ forecast: forecastFor(2) }), 'calcium')?.reason).toBe(
      'calcium is about 130 ± 2.6 mg/L, aim 130; the crop takes 0.49 mg/L an hour and make-up water brings 0.36; it stands at its aim, so this replaces what is taken.',
    )
  })

  it('says that an element near its low edge is raised at once', () => {
    const input = withLevels(benchInput(), { P: 20.5 }, { P: 1.5 })
    expect(reasonOf(input, 'phosphate')?.reason).toContain(
      'raised to 21.5 at once, which keeps 1 standard deviation above the low edge of 20',
    )
  })

  it('says that part of a surplus is left to uptake', () => {
    const input = withLevels(benchInput(), { P: 42, Mg: 37 }, { P: 0.5 })
    expect(reasonOf(input, 'phosphate')?.reason).toMatch(/above its aim, so .* of the surplus a day is left to uptake/)
  })
})

describe('what no dose can mend', () => {
  it('an element over its band: how long uptake needs, and the renewal in slices that would do it now', () => {
    const note = noteOf(withLevels(benchInput(), { B: 0.6 }), 'over-high', 'B')!
    // B 0.0555 to 0.0463 mmol/L at (0.02 - 0.0015)/220 an hour is 110 h; kept share (0.0463 - 0.0015)/(0.0555 - 0.0015).
    expect(note.figures['waitMs']! / HOUR_MS).toBeCloseTo(110, 0)
    expect(note.figures['renewalShare']).toBeCloseTo(1 - 0.04475 / 0.054, 2)
    expect(note.figures['slices']).toBe(2)
    expect((1 - note.figures['sliceShare']!) ** 2).toBeCloseTo(1 - note.figures['renewalShare']!, 9)
    expect(note.figures['sliceShare']).toBeLessThanOrEqual(0.1)
    expect(note.text).toBe(
      'boron is about 0.6 ± 0.006 mg/L, above its high edge of 0.5, and no stock lowers it. Uptake alone brings it to the edge in about 4.6 days. Renewing with source water in 2 slices of 9 % brings it there (17 % if done at once, which is not advised); put back the other elements by weight or let the pumps do it.',
    )
  })

  it('sodium that uptake does not outrun: the part of the water that must drain', () => {
    const note = noteOf(withLevels(benchInput(), { Na: 60 }), 'over-high', 'Na')!
    // (s - u)/(c - s) with s 0.3, u 0.2 and c 2.175 mmol/L.
    expect(note.figures['leachingShare']).toBeCloseTo(0.1 / 1.875, 3)
    expect(note.text).toContain('Letting go 5.3 % of what is taken up would hold it at the edge.')
    expect(note.text).toContain('Uptake does not outrun what make-up water brings')
    // 1 - u/s: a third of the make-up without sodium leaves what the crop takes.
    expect(note.figures['pureWaterShare']).toBeCloseTo(1 / 3, 2)
    expect(note.text).toContain(
      'With 33 % of the make-up as reverse-osmosis water sodium would not rise; the recipe is then made anew for that water.',
    )
  })

  it('source water that brings too much itself: renewal with it does not help', () => {
    const source = {
      ...benchInput().settings.source,
      mmolPerL: benchInput().settings.source.mmolPerL.map((c, e) => (e === 7 ? 3 : c)),
    }
    const note = noteOf(withSettings(withLevels(benchInput(), { Na: 80 }), { source }), 'over-high', 'Na')!
    expect(note.text).toContain('Renewal with this source water does not help: it brings 69 mg/L itself')
  })

  it('a short element that no stock brings', () => {
    const stocks = STOCKS.filter(({ id }) => id !== 'phosphate')
    const input = withSettings(withLevels(benchInput(), { P: 15 }), { stocks })
    const note = noteOf({ ...input, deliveryFactor: new Float64Array(3).fill(1) }, 'no-stock', 'P')
    expect(note?.text).toBe(
      'phosphorus is about 15 ± 0.8 mg/L, below its low edge of 20, and no stock brings it: weigh a salt by hand, or put one into a stock. By hand, 24 g of monopotassium phosphate dissolved in a bucket of the solution brings it to 40 mg/L, and raises potassium by 32 mg/L; log what was added.',
    )
    // KH2PO4 is 30.974/136.086 P by mass (CIAAW atomic weights): 25 mg/L of P in 220 L.
    expect(note?.figures['handG']).toBeCloseTo((0.025 * VOLUME_L * 136.086) / 30.974, 1)
  })

  it('a short element that no stock brings, where every salt of it would carry another over its edge', () => {
    const stocks = STOCKS.filter(({ id }) => id !== 'phosphate')
    const full = withSettings(withLevels(benchInput(), { P: 15, K: 310, 'NH4-N': 21 }), { stocks })
    const note = noteOf({ ...full, deliveryFactor: new Float64Array(3).fill(1) }, 'no-stock', 'P')
    expect(note?.text).toMatch(/and no stock brings it: put a salt of it into a stock\.$/)
    expect(note?.figures).not.toHaveProperty('handG')
  })

  it('a short element that is known too little: nothing is weighed by such an estimate', () => {
    const planning = { ...benchInput().settings.planning, sdMaxShare: 0.3 }
    const stocks = STOCKS.filter(({ id }) => id !== 'phosphate')
    const input = withSettings(withLevels(benchInput(), { P: 15 }, { P: 30 }), { stocks, planning })
    const note = noteOf({ ...input, deliveryFactor: new Float64Array(3).fill(1) }, 'no-stock', 'P')
    expect(note?.text).toContain('and no stock brings it')
    expect(note?.text).not.toContain('By hand')
  })

  it('of two salts that serve alike the one that pushes less past its aim is weighed', () => {
    const stocks = STOCKS.filter(({ id }) => id !== 'phosphate')
    const input = withSettings(withLevels(benchInput(), { P: 15, K: 285, 'NH4-N': 0 }), { stocks })
    const note = noteOf({ ...input, deliveryFactor: new Float64Array(3).fill(1) }, 'no-stock', 'P')
    expect(note?.text).toContain('g of monoammonium phosphate')
  })

  it('a short element whose stock may not run, has no room, or is spent', () => {
    const short = withLevels(benchInput(), { P: 15 })
    expect(noteOf(withHeadroom(short, 'phosphate', { blockedBy: ['flow'] }), 'held-back', 'P')?.text).toContain(
      'phosphate may not run',
    )
    expect(noteOf(withHeadroom(short, 'phosphate', { dayUl: 0 }), 'held-back', 'P')?.text).toContain(
      'the limits leave nothing of phosphate in this interval',
    )
    expect(noteOf(withHeadroom(short, 'phosphate', { hourUl: 5000 }), 'held-back', 'P')?.text).toContain(
      'the limits leave 5 mL of phosphate',
    )
    expect(noteOf(withHeadroom(short, 'phosphate', { hourUl: 5000 }), 'held-back', 'P')?.text).not.toContain('By hand')
  })

  it('a short element whose stock would raise another over its edge', () => {
    const text = noteOf(withLevels(benchInput(), { P: 15, B: 0.6 }), 'held-back', 'P')?.text
    expect(text).toContain('boron comes with it and is at its high edge')
    expect(text).toContain('By hand, 24 g of monopotassium phosphate')
  })

  it('iron that falls because calcium, in whose stock it rides, is not needed', () => {
    const hard = withLevels(benchInput(), { Fe: 1.3, Ca: 185 })
    expect(noteOf(hard, 'parity', 'Fe')?.text).toMatch(
      /^iron is about 1\.3 mg\/L, aim 2, and falls: it rides only in calcium, of which 0 mL are needed now against/,
    )
  })

  it('shots that found no time', () => {
    const input = withHeadroom(withLevels(benchInput(), { Ca: 78, P: 19 }), 'phosphate', {
      notBeforeMs: AT_MS + 50 * 60_000,
    })
    const late = withHeadroom(input, 'calcium', { notBeforeMs: AT_MS + 40 * 60_000 })
    const made = plan(late)
    expect(made.notes.find(({ kind }) => kind === 'no-time')?.text).toMatch(
      /find no time in this interval with all waits kept/,
    )
  })
})

describe('a stock that brings nothing anybody seeks', () => {
  it('is never dosed', () => {
    const salt = stock('salt', 'neutral', { Na: 1, Cl: 1 })
    const input = withSettings(withLevels(benchInput(), { Na: 0, Cl: 0 }), { stocks: [salt] })
    const headroom = { stocks: [{ ...benchInput().headroom.stocks[0]!, stock: 'salt' }] }
    expect(plan({ ...input, headroom, deliveryFactor: new Float64Array([1]) }).doses).toEqual([])
  })
})

describe('figures', () => {
  it.each([
    [172.4, '172'],
    [1724.6, '1725'],
    [14.23, '14.2'],
    [0.9, '0.9'],
    [1e-9, '0'],
    [Number.NaN, 'unknown'],
  ])('%d reads %s', (value, text) => expect(figure(value)).toBe(text))

  it.each([
    [1, 'the whole'],
    [0.8, 'four fifths'],
    [2 / 3, 'two thirds'],
    [0.5, 'half'],
    [1 / 6, 'a sixth'],
    [0.04, '4 %'],
  ])('a share of %d reads %s', (share, text) => expect(shareInWords(share)).toBe(text))

  it('times and lists read as spoken', () => {
    expect([duration(90_000), duration(5 * HOUR_MS), duration(100 * HOUR_MS)]).toEqual([
      '1.5 minutes',
      '5 hours',
      '4.2 days',
    ])
    expect([listed([]), listed(['a']), listed(['a', 'b', 'c'])]).toEqual(['', 'a', 'a, b and c'])
  })
})
