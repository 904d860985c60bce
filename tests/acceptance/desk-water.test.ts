import { afterAll, afterEach, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { alkalinityFromMeqPerL } from '../../src/chemistry/hardness.ts'
import { toMgPerL } from '../../src/chemistry/molar-mass.ts'
import { readKnownWaters } from '../../src/cli/water-files.ts'
import { waterOutput } from '../../src/cli/water-schema.ts'
import { CRITERIA } from '../../src/formulation/water/guide.ts'
import { deskFolder, printed, runWater, tooWide, WELL } from './desk-run.ts'

const folder = deskFolder()
const well = folder.file('well.csv', WELL)
afterAll(() => folder.remove())
afterEach(() => {
  process.exitCode = undefined
})

describe('tarnward water', () => {
  it('gives a verdict on a laboratory’s report: the figure, its class with the source, its meaning and the remedy', async () => {
    const text = await runWater(well)
    expect(text).toMatch(/^lower field well, for butterhead lettuce: TREAT\nUse it after treatment, for alkalinity\./)
    expect(text).toMatch(/! alkalinity 208 mg\/L CaCO3: 4\.16 meq\/L: .*needs 4\.1\d\s+meq\/L of acid/s)
    expect(text).toMatch(
      /> nitric acid 60 %: 31\d mL per 1000 L \(the aim shows after 22\d\); brings 58\.\d\s+mg\/L NO3-N/,
    )
    expect(text).toMatch(/class 2, only with some drain \[Dutch practice for recirculating crops,\s+from memory\]/)
    expect(text).toMatch(/\[common practice, no source\]/)
    expect(text).toMatch(/Always acid into water/)
  })

  it('fits 80 columns and needs no colour', async () => {
    for (const text of [
      await runWater(well),
      await runWater('median-greenhouse-well'),
      await runWater('reverse-osmosis'),
    ]) {
      expect(tooWide(text)).toEqual([])
      expect(text).not.toContain('\u001b')
    }
  })

  it('prints one object that fits its schema, and the schema itself', async () => {
    const object: unknown = JSON.parse(await runWater(well, { json: true }))
    expect(waterOutput.parse(object)).toMatchObject({ level: 'treat', water: 'lower field well' })
    const schema: unknown = JSON.parse(await runWater(well, { jsonSchema: true }))
    expect(schema).toEqual(JSON.parse(JSON.stringify(z.toJSONSchema(waterOutput, { io: 'output' }))))
  })

  it('judges by the crop: what lettuce has to drain for, tomato bears', async () => {
    const salty = folder.file('salty.csv', WELL.replace('Sodium;14', 'Sodium;20').replace('Chloride;22', 'Chloride;35'))
    const sodium = async (crop: string) => {
      const { criteria } = waterOutput.parse(JSON.parse(await runWater(salty, { crop, json: true })))
      return criteria.find(({ name }) => name === 'sodium')!.figures
    }
    const [lettuce, tomato] = [await sodium('butterhead-lettuce'), await sodium('tomato')]
    expect(lettuce['limitMgPerL']).toBeCloseTo(50, 9)
    expect(tomato['limitMgPerL']).toBeCloseTo(80, 9)
    expect(tomato['leachingFraction']).toBeLessThan(lettuce['leachingFraction']!)
  })

  it('doubts a report whose sulfate was given as SO4 under the name of sulfur', async () => {
    expect(await runWater(well)).not.toMatch(/Doubt/)
    const wrong = folder.file('wrong.csv', WELL.replace('Sulfur;11', 'Sulfur;33'))
    expect(await runWater(wrong)).toMatch(/Doubt: The charges of the report are off by -\d+\.\d %, where 2\.0 % is/)
  })

  it('ends with a code of its own where it refuses', async () => {
    const brine = folder.file('brine.csv', WELL.replace('Sodium;14', 'Sodium;140'))
    expect(await runWater(brine)).toMatch(/REFUSE\nNot as it is, for sodium/)
    expect(process.exitCode).toBe(1)
  })

  it('takes the figures of disinfectants beside the report, and no bare ppm for conductivity', async () => {
    expect(await runWater(well, { chlorine: '2 mg/L' })).toMatch(/chlorine 2 mg\/L Cl2/)
    expect(await runWater('reverse-osmosis', { ec: '300 ppm (500)' })).toMatch(/conductivity 0\.6 mS\/cm/)
    await expect(runWater('reverse-osmosis', { ec: '300 ppm' })).rejects.toThrow(/without its scale; write ppm \(500\)/)
  })

  it('says what is wrong: an unknown name, a file that is not there, a report that cannot be read, an unknown crop', async () => {
    await expect(runWater('rain')).rejects.toThrow(/No water is called "rain"; known are reverse-osmosis/)
    await expect(runWater('no/such.csv')).rejects.toThrow(/no\/such\.csv cannot be read/)
    const broken = folder.file('broken.csv', 'Parameter;Result;Unit\nNitrate;12;mg/L\n')
    await expect(runWater(broken)).rejects.toThrow(/broken\.csv:2:/)
    await expect(runWater(well, { crop: 'wheat' })).rejects.toThrow(
      /--crop: found "wheat"; known are butterhead-lettuce/,
    )
    await expect(
      printed(async () => (await import('../../src/cli/water.ts')).water(undefined, { crop: 'tomato' })),
    ).rejects.toThrow(/needs a laboratory’s file/)
  })
})

describe('the guide values', () => {
  it('stand in order, each line with a source, and end without a limit', async () => {
    const { guides } = await readKnownWaters()
    for (const name of CRITERIA.filter((one) => one !== 'pH')) {
      expect(guides[name]?.length, name).toBeGreaterThan(0)
      for (const { source, classes } of guides[name]!) {
        const edges = classes.slice(0, -1).map(({ below }) => below!)
        expect(source).not.toBe('')
        expect(edges, name).toEqual([...edges].sort((a, b) => a - b))
        expect(classes.at(-1)!.below, name).toBeUndefined()
      }
    }
  })

  it('have the chloride and bicarbonate of FAO 29 in meq/L, where reprints make mg/L of them', async () => {
    const { guides } = await readKnownWaters()
    const edges = (name: 'chloride' | 'alkalinity') =>
      guides[name]!.find(({ source }) => source.startsWith('FAO'))!.classes.flatMap(({ below }) => below ?? [])
    expect(edges('chloride')).toEqual([toMgPerL('Cl', 4), toMgPerL('Cl', 10)].map(Math.round))
    const asCaCO3 = [1.5, 8.5].map((meq) => alkalinityFromMeqPerL(meq, 'mg/L CaCO3'))
    expect(edges('alkalinity')).toEqual(asCaCO3.map((mgPerL) => Math.round(mgPerL)))
  })
})
