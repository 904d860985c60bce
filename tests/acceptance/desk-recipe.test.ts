import { afterAll, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { recipeOutput } from '../../src/cli/recipe-schema.ts'
import { bar } from '../../src/cli/recipe-text.ts'
import { deskFolder, runRecipe, tooWide, WELL } from './desk-run.ts'

const folder = deskFolder()
const well = folder.file('well.csv', WELL)
afterAll(() => folder.remove())

type Output = z.output<typeof recipeOutput>
const object = async (options: Parameters<typeof runRecipe>[0] = {}): Promise<Output> =>
  recipeOutput.parse(JSON.parse(await runRecipe({ ...options, json: true })))
const element = ({ elements }: Output, name: string) => elements.find((one) => one.element === name)!
const grams = ({ salts }: Output, name: string) => salts.find((one) => one.name === name)?.g ?? 0

const FEW = 'calcium ammonium,potassium nitrate,monopotassium,magnesium sulfate,iron DTPA'

describe('tarnward recipe', () => {
  it('brings lettuce on hard well water into every band, acid counted in, at its pH', async () => {
    const output = await object({ water: well, acid: 'nitric acid 60 %' })
    expect(output.unmet).toEqual([])
    expect(output.settled.ph).toBeCloseTo(5.9, 2)
    expect(output.acid!.firstHourMl).toBeLessThan(output.acid!.ml)
    expect(element(output, 'Ca').waterMgPerL).toBeCloseTo(82, 6)
  })

  it('shows water, each salt’s share, total, band and a plain bar, within 80 columns and without colour', async () => {
    const text = await runRecipe({ water: well, acid: 'nitric acid 60 %', scale: '0.1g' })
    expect(text).toMatch(/^Ca +82 +5\d\.?\d* +1[23]\d +80-200 {2}\.{6}\[ +[*|]+ +\]\.{6}$/m)
    expect(text).toMatch(/nitric acid 60 % 5\d\.?\d*/)
    expect(text).toMatch(/Settles at EC 1\.\d\d mS\/cm at 25 °C and pH 5\.9/)
    expect(tooWide(text)).toEqual([])
    expect(text).not.toContain('\u001b')
    expect(text).toMatch(/Always acid into water/)
  })

  it.each(['mg/L', 'mmol/L', 'meq/L'])('fits 80 columns in %s', async (elementUnit) => {
    expect(tooWide(await runRecipe({ water: well, elementUnit, unit: 'oz/100gal' }))).toEqual([])
  })

  it('weighs twice the grams for twice the volume', async () => {
    const [once, twice] = [await object({ water: well }), await object({ water: well, volume: '440L' })]
    for (const { name, g } of once.salts) expect(grams(twice, name)).toBeCloseTo(2 * g, 9)
  })

  it('takes 58.12 gal for 220 L', async () => {
    const [litres, gallons] = [await object(), await object({ volume: '58.1178gal' })]
    expect(gallons.volumeL).toBeCloseTo(litres.volumeL, 3)
  })

  it('solves the rest around a pinned salt, named by a part of its name', async () => {
    const output = await object({ pin: ['calcium nitrate=0.9 g/L'] })
    expect(output.salts.find(({ isPinned }) => isPinned)).toMatchObject({
      name: 'calcium nitrate tetrahydrate',
      gPerL: 0.9,
    })
    expect(element(output, 'Ca').totalMgPerL).toBeGreaterThan(150)
    const inGrams = await object({ pin: ['calcium nitrate=198 g'] })
    expect(inGrams.salts.find(({ isPinned }) => isPinned)!.gPerL).toBeCloseTo(0.9, 9)
  })

  it('names what cannot be met, with the reason', async () => {
    const { unmet } = await object({ only: FEW })
    expect(unmet.map((one) => one.element)).toEqual(['Mn', 'Zn', 'B', 'Cu', 'Mo'])
    expect(unmet[2]!.why).toMatch(/no salt on the shelf carries it/)
  })

  it('takes a shelf with a complete base blend by its label, and says what its boron holds back', async () => {
    const shelf = folder.file(
      'shelf.yaml',
      `salts:
  base blend:
    label: { NO3-N: 5, P2O5: 12, K2O: 26, MgO: 5, SO3: 10, Fe: 0.3, Mn: 0.05, Zn: 0.015, B: 0.09, Cu: 0.015, Mo: 0.01 }
  greenhouse calcium nitrate:
    label: { NO3-N: 14.4, NH4-N: 1.1, Ca: 19 }
reagents: {}
`,
    )
    const output = await object({ shelf })
    expect(output.salts.map(({ name }) => name)).toEqual(['base blend', 'greenhouse calcium nitrate'])
    expect(element(output, 'B').totalMgPerL).toBeLessThanOrEqual(0.5 * 1.000001)
    expect(output.unmet.some(({ why }) => /B comes with base blend/.test(why))).toBe(true)
  })

  it('leaves iron out where sodium stands over its band, and brings it where a person raises the band', async () => {
    const salty = folder.file('salty.csv', WELL.replace('Sodium;14', 'Sodium;55'))
    const strict = await object({ water: salty })
    expect(strict.unmet.map((one) => one.element)).toEqual(['Na', 'Fe', 'Mo'])
    const raised = await object({ water: salty, band: ['Na=0..60'] })
    expect(raised.unmet).toEqual([])
  })

  it('prefers an iron chelate that holds at the crop’s pH, and says which stands back', async () => {
    const output = await object()
    expect(grams(output, 'iron EDTA 13 %')).toBe(0)
    expect(output.notes.join(' ')).toMatch(/iron EDTA 13 % stands back/)
  })

  it('says that hard water needs an acid, unless one is named, and that pure water may need some alkalinity', async () => {
    const said = async (options: Parameters<typeof runRecipe>[0]) => (await object(options)).notes.join(' ')
    expect(await said({ water: well })).toMatch(/wants pH 5\.5 to 6\.3, and this settles at [78]\.\d\. Name an acid/)
    expect(await said({ water: well, acid: 'nitric acid 60 %' })).not.toMatch(/wants pH/)
    expect(await said({ water: well, acid: 'nitric acid 60 %=1 mL/L' })).toMatch(
      /Leave a little of the water’s alkalinity/,
    )
  })

  it('feeds young plants weaker', async () => {
    const [full, young] = [await object(), await object({ stage: 'young' })]
    expect(element(young, 'K').totalMgPerL / element(full, 'K').totalMgPerL).toBeCloseTo(0.75, 2)
  })

  it('counts amounts in ounces to 100 gal and pounds as well', async () => {
    const output = await object({ unit: 'oz/100gal' })
    for (const { amount, gPerL } of output.salts) expect(amount).toBeCloseTo(gPerL / 0.0748915, 3)
    const pounds = await object({ unit: 'lb' })
    for (const { amount, g } of pounds.salts) expect(amount).toBeCloseTo(g / 453.592, 5)
  })

  it('shows what the scale does, and when it is too coarse', async () => {
    const text = await runRecipe({ scale: '1g' })
    expect(text).toMatch(/Rounding: moves, in mg\/L, .*Mo\s+0\.04\d* to 0 \(below its band\)/s)
    expect(text).toMatch(/Scale: too coarse for .*sodium molybdate/s)
  })

  it('writes nitrogen by its form, never as N alone', async () => {
    const text = await runRecipe({ water: well })
    expect(text).toMatch(/^NO3-N /m)
    expect(text).toMatch(/^NH4-N /m)
    expect(text).not.toMatch(/(?<![-A-Za-z(])N(?![A-Za-z0-9(])/)
  })

  it('prints the schema of its object', async () => {
    const schema: unknown = JSON.parse(await runRecipe({ jsonSchema: true }))
    expect(schema).toEqual(JSON.parse(JSON.stringify(z.toJSONSchema(recipeOutput, { io: 'output' }))))
  })

  it('answers within 200 ms after start-up, in the middle of five runs', async () => {
    const took: number[] = []
    for (let run = 0; run < 5; run++) {
      const began = performance.now()
      await runRecipe({ water: well, acid: 'nitric acid 60 %' })
      took.push(performance.now() - began)
    }
    expect(took.sort((a, b) => a - b)[2]).toBeLessThan(200)
  })

  it.each([
    [{ volume: '220' }, /--volume: '220': a number of 0 or more and its unit/],
    [{ volume: '0L' }, /--volume: found "0L"; more than 0/],
    [{ pin: ['potassium=1 g/L'] }, /--pin: "potassium" names several salts, potassium nitrate, potassium sulfate/],
    [{ pin: ['sugar=1 g/L'] }, /--pin: "sugar" names no salt of the shelf/],
    [{ pin: ['boric acid'] }, /write it as "calcium nitrate=0.9 g\/L"/],
    [{ pin: ['boric acid=1 mL'] }, /--pin "boric acid": '1 mL': mL measures volume/],
    [{ unit: 'mL' }, /--unit: found "mL"/],
    [{ unit: 'stone' }, /--unit: 'stone' is no unit known here/],
    [{ elementUnit: 'oz' }, /--element-unit: found "oz"/],
    [{ acid: 'vinegar' }, /--acid: 'vinegar': an acid and its strength by mass/],
    [{ acid: 'nitric acid 60 %=3 g' }, /--acid: '3 g': g measures mass/],
    [{ ph: '9' }, /--ph: found "9"/],
    [{ stage: 'old' }, /--stage: found "old"; allowed: seedling, young, full/],
    [{ ammonium: 'much' }, /--ammonium: found "much"/],
    [{ band: ['Xx=1..2'] }, /--band: found "Xx=1..2"/],
    [{ scale: '1 L' }, /--scale: '1 L': L measures volume/],
  ])('says what is wrong and what is allowed: %j', async (options, message) => {
    await expect(runRecipe(options)).rejects.toThrow(message)
  })

  it('names file, line and key of a shelf that cannot be read', async () => {
    const shelf = folder.file('bad.yaml', 'salts:\n  potash: { formula: KNO3x }\nreagents: {}\n')
    await expect(runRecipe({ shelf })).rejects.toThrow(/bad\.yaml:2:\d+ {2}salts\.potash\.formula: found 'KNO3x'/)
  })
})

describe('the bar of an element', () => {
  const line = (totalMgPerL: number) =>
    bar({
      ...{ element: 'K', waterMgPerL: 0, fromSalts: [], totalMgPerL, totalMmolPerL: 0, place: 'in-band' },
      ...{ lowMgPerL: 100, aimMgPerL: 200, highMgPerL: 300 },
    })

  it('shows below, at the edges, at the aim and above', () => {
    expect(line(0)).toBe('*.....[     |     ]......')
    expect(line(99)).toBe('.....*[     |     ]......')
    expect(line(100)).toBe('......[*    |     ]......')
    expect(line(200)).toBe('......[     *     ]......')
    expect(line(300)).toBe('......[     |    *]......')
    expect(line(310)).toBe('......[     |     ]*.....')
    expect(line(2000)).toBe('......[     |     ].....*')
  })
})
