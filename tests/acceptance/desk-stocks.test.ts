import { execFileSync } from 'node:child_process'
import { describe, expect, it, vi } from 'vitest'
import { recipe } from '../../src/cli/recipe.ts'
import { type StocksOptions, stocks } from '../../src/cli/stocks.ts'
import { type StocksRefusedView, type StocksView, stocksOutput } from '../../src/cli/stocks-schema.ts'

const LEAFY =
  'calcium ammonium,potassium nitrate,potassium sulfate,monopotassium,magnesium sulfate,DTPA,manganese,zinc,copper,boric,molyb'
const given = (more: Partial<StocksOptions> = {}): StocksOptions => ({
  ...{ crop: 'butterhead-lettuce', stage: 'full', water: 'tests/fixtures/desk/water-hard-well.csv', volume: '220L' },
  ...{ shelf: 'all', only: LEAFY, acid: 'nitric acid 60 %', ammonium: '15', unit: 'g/L', elementUnit: 'mg/L' },
  ...{ stocks: 'A:100x,B:100x', tank: '20L', coldest: '10C', in: [], measured: [] },
  ...more,
})

async function said(
  options: StocksOptions,
  command: (options: StocksOptions) => Promise<void> = stocks,
): Promise<{ text: string; code: number }> {
  let text = ''
  const before = process.exitCode
  process.exitCode = 0
  const write = vi.spyOn(process.stdout, 'write').mockImplementation((chunk) => {
    text += chunk
    return true
  })
  try {
    await command(options)
    return { text, code: Number(process.exitCode) }
  } finally {
    write.mockRestore()
    process.exitCode = before
  }
}

async function planned(more: Partial<StocksOptions> = {}): Promise<StocksView> {
  const view = stocksOutput.parse(JSON.parse((await said(given({ ...more, json: true }))).text))
  if (view.kind === 'refused') throw new Error(JSON.stringify(view.refusals))
  return view
}

async function refused(more: Partial<StocksOptions>): Promise<{ view: StocksRefusedView; code: number }> {
  const { text, code } = await said(given({ ...more, json: true }))
  const view = stocksOutput.parse(JSON.parse(text))
  if (view.kind === 'stocks') throw new Error('planned, though it should have been refused')
  return { view, code }
}

const tankOf = (view: StocksView, name: string) => view.tanks.find((tank) => tank.name === name)!
const plain = (text: string) => text.replace(/\s+/g, ' ')

describe('a recipe as stock tanks', () => {
  it('holds in its two tanks exactly what the recipe weighs', async () => {
    const weighed = JSON.parse((await said(given({ json: true }), recipe)).text) as {
      salts: { name: string; g: number }[]
    }
    const view = await planned()
    const lines = view.tanks.flatMap(({ salts }) => salts)
    for (const { name, g } of weighed.salts.filter(({ g: grams }) => grams > 0)) {
      // 20 L at 100x make up 2000 L, and the recipe is for 220 L
      expect(lines.find(({ salt }) => salt === name)!.grams, name).toBeCloseTo((g * 2000) / 220, 6)
    }
  })

  it('gives every tank its millilitres per litre, injector ratio and litres for the reservoir', async () => {
    const view = await planned({ stocks: 'A:100x,B:200x' })
    expect(view.tanks.map(({ mlPerLMakeUp }) => mlPerLMakeUp)).toEqual([10, 5])
    expect(view.tanks.map(({ injector }) => injector)).toEqual(['1:100', '1:200'])
    expect(view.tanks.map(({ mlForVolume }) => mlForVolume)).toEqual([2200, 1100])
  })

  it('plans the acid diluted to 1 eq/L, with the millilitres that the water’s alkalinity asks for', async () => {
    const { acid } = await planned()
    expect(acid).toMatchObject({ strengthEqPerL: 1, tankL: 20 })
    // 208 mg/L CaCO3 are 4.16 meq/L, all but a tenth of which goes; 60 % nitric acid holds 13.01 eq/L
    expect(acid!.mlPerLMakeUp).toBeGreaterThan(3.9)
    expect(acid!.mlPerLMakeUp).toBeLessThan(4.2)
    expect(acid!.bottleMl).toBeCloseTo(20_000 / 13.01, 0)
    expect(acid!.steps.join(' ')).toMatch(/never water into acid/)
  })

  it('an acid tank for an injector is as strong as its ratio needs', async () => {
    const { acid } = await planned({ stocks: 'A:100x,B:100x,acid:100x' })
    expect(acid!.mlPerLMakeUp).toBeCloseTo(10, 6)
    expect(acid!.strengthEqPerL).toBeCloseTo(0.41, 1)
  })

  it('stronger acid needs the explicit wish, and warns', async () => {
    await expect(said(given({ acidStrength: '3' }))).rejects.toThrow(/up to 2 eq\/L is planned.*--strong-acid/)
    const { acid } = await planned({ acidStrength: '3', strongAcid: true })
    expect(acid!.cautions[0]).toMatch(/Warning: 3 eq\/L/)
  })
})

describe('a tank that would precipitate', () => {
  it('is refused with the pair named, and ends with a code of its own', async () => {
    const { view, code } = await refused({ in: ['magnesium sulfate=A'] })
    expect(code).toBe(1)
    expect(view.refusals).toContainEqual(
      expect.objectContaining({
        tank: 'A',
        pair: ['calcium ammonium nitrate decahydrate', 'magnesium sulfate heptahydrate'],
      }),
    )
    const { text } = await said(given({ in: ['magnesium sulfate=A'] }))
    expect(plain(text)).toMatch(
      /calcium ammonium nitrate decahydrate with magnesium sulfate heptahydrate: .*gypsum.*Put one of them into B/,
    )
  })

  it('is refused where it would crystallise on a cold night, and the strength that holds is named', async () => {
    const { view } = await refused({ stocks: 'A:600x,B:600x', coldest: '5C' })
    expect(view.refusals.map(({ nextStep }) => nextStep).join()).toMatch(/Make the tank \d+x or weaker/)
    const weaker = /Make the tank (\d+)x/.exec(view.refusals[0]!.nextStep)![1]
    expect((await planned({ stocks: `A:${weaker}x,B:100x`, coldest: '5C' })).tanks).toHaveLength(2)
  })

  it('one tank for everything is refused', async () => {
    expect((await refused({ stocks: 'A:100x' })).view.refusals[0]!.nextStep).toMatch(/two tanks/)
  })
})

describe('the batch card', () => {
  it('finds a half bag, a wrong hydrate and swapped tanks by the EC of a 1:100 dilution, and passes 3 %', async () => {
    const view = await planned()
    const [a, b] = [tankOf(view, 'A'), tankOf(view, 'B')]
    const showing = async (measured: string) => tankOf(await planned({ measured: [measured] }), measured[0]!).check!
    expect(await showing(`A=${(1.02 * a.dilutedDsPerM).toFixed(4)}`)).toMatchObject({ verdict: 'as-expected' })
    for (const [tank, text] of [
      [a, 'half of the calcium ammonium nitrate decahydrate'],
      [b, 'MgSO4 for MgSO4.7H2O'],
      [a, 'the tank is B'],
      [b, 'the tank is A'],
    ] as const) {
      const { dsPerM } = tank.mistakes.find((mistake) => mistake.text === text)!
      const check = await showing(`${tank.name}=${dsPerM.toFixed(4)}`)
      expect(check.verdict, text).not.toBe('as-expected')
      expect(check.perhaps, text).toContain(text)
    }
  })

  it('can be printed: order, grams, a line for each lot, date and name, within 80 columns', async () => {
    const { text } = await said(given())
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80)
    expect(text.includes('\u001b')).toBe(false)
    expect(text.match(/lot _{10,}/g)!.length).toBe(12)
    expect(text).toMatch(/mixed on _+ {2}by _+/)
    expect(text.indexOf('boric acid')).toBeGreaterThan(text.indexOf('potassium sulfate'))
  })

  it('warns of hard water in the tanks, of concentrates, of acid, and defers to local codes', async () => {
    const { text } = await said(given({ stocks: 'A:200x,B:200x' }))
    expect(plain(text)).toMatch(/check valve or an air break/)
    expect(plain(text)).toMatch(/local codes and a licensed professional/)
  })
})

it.each([
  ['no strength', { stocks: 'A,B' }, /--stocks: found "A"/],
  ['a tank twice', { stocks: 'A:100x,A:50x' }, /named twice/],
  ['a bare temperature', { coldest: '10' }, /with its scale/],
  ['a tank that is a mass', { tank: '20kg' }, /measures mass/],
  ['a place that is no tank', { in: ['potassium nitrate=D'] }, /no tank "D"; there are A, B/],
  ['a salt that is not in the recipe', { in: ['borax=A'] }, /names no salt/],
  ['a reading that is none', { measured: ['A=high'] }, /mS\/cm at 25 °C are needed/],
  ['an acid tank without an acid', { stocks: 'A:100x,B:100x,acid:100x', acid: 'none' }, /name one with --acid/],
])('%s ends with a sentence that says what to do', async (_what, more, why) => {
  await expect(said(given(more as Partial<StocksOptions>))).rejects.toThrow(why)
})

it('is the same from the command line as a program, its schema too', () => {
  const run = (...more: string[]) =>
    execFileSync(process.execPath, ['--import', 'tsx', 'src/main.ts', 'recipe', '--stocks', 'A:100x,B:100x', ...more], {
      encoding: 'utf8',
    })
  expect(stocksOutput.parse(JSON.parse(run('--volume', '220L', '--json')))).toMatchObject({
    kind: 'stocks',
    volumeL: 220,
  })
  expect(JSON.parse(run('--json-schema'))).toMatchObject({ oneOf: expect.anything() })
})
