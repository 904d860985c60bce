import { execFileSync } from 'node:child_process'
import { describe, expect, it, vi } from 'vitest'
import { type AmendOptions, amend } from '../../src/cli/amend.ts'
import { type AmendedView, amendOutput, type HeldView } from '../../src/cli/amend-schema.ts'

const desk = (name: string) => `tests/fixtures/desk/${name}`
const given = (lab: string, more: Partial<AmendOptions> = {}): AmendOptions => ({
  ...{ lab: desk(lab), volume: '220L', crop: 'butterhead-lettuce', water: desk('water-hard-well.csv') },
  ...{ acid: 'nitric', step: '0.01', ammoniumShare: '0.15' },
  ...more,
})

/** What the command prints, and the exit code it leaves. */
async function said(options: AmendOptions): Promise<{ text: string; code: number }> {
  let text = ''
  const before = process.exitCode
  process.exitCode = 0
  const write = vi.spyOn(process.stdout, 'write').mockImplementation((chunk) => {
    text += chunk
    return true
  })
  try {
    await amend(options)
    return { text, code: Number(process.exitCode) }
  } finally {
    write.mockRestore()
    process.exitCode = before
  }
}

async function answered(lab: string, more: Partial<AmendOptions> = {}): Promise<AmendedView> {
  const view = amendOutput.parse(JSON.parse((await said(given(lab, { ...more, json: true }))).text))
  if (view.kind === 'held') throw new Error(view.why)
  return view
}

const advisedOf = (view: AmendedView) => view.options.find(({ way }) => way === view.advised)!
const noteOf = (view: AmendedView, element: string) => view.notes.find((note) => note.element === element)!

describe('one command, one answer: a used reservoir', () => {
  it('starved of potassium and phosphorus: fed, and nothing let go', async () => {
    const view = await answered('used-potassium-starved.csv')
    expect(view.advised).toBe('amend-only')
    expect(advisedOf(view)).toMatchObject({ dischargeL: 0, outOfBand: [] })
    expect(noteOf(view, 'K')).toMatchObject({ usedMgPerL: 62, verdict: 'brought in' })
    expect(noteOf(view, 'K').endMgPerL).toBeGreaterThan(130)
    expect(advisedOf(view).amounts.map(({ name }) => name)).toContain('potassium nitrate')
  })

  it('with nitrate at its edge: potassium sulfate instead of potassium nitrate', async () => {
    const view = await answered('used-nitrate-high.csv')
    const grams = Object.fromEntries(advisedOf(view).amounts.map(({ name, measured }) => [name, measured]))
    expect(grams['potassium sulfate']).toBeGreaterThan(15)
    expect(grams['potassium nitrate'] ?? 0).toBeLessThan(0.1)
    expect(noteOf(view, 'NO3-N').endMgPerL).toBeLessThanOrEqual(220)
  })

  it('the same with no potassium sulfate on the shelf: it is named as the better answer', async () => {
    const only = 'calcium ammonium,potassium nitrate,monopotassium,magnesium sulfate,DTPA,manganese'
    const { better } = await answered('used-nitrate-high.csv', { only })
    expect(better[0]).toMatchObject({ name: 'potassium sulfate', lifts: [{ element: 'K' }] })
  })

  it('salted up: the smallest renewal first, in slices of a tenth at most, with its figures beside the other ways', async () => {
    const view = await answered('used-sodium-built-up.csv')
    expect(view.options.map(({ way }) => way)).toEqual(['amend-only', 'renew-and-amend', 'start-afresh'])
    expect(view.advised).toBe('renew-and-amend')
    const [only, renew, afresh] = view.options as [AmendedView['options'][number], ...AmendedView['options']]
    expect(only.outOfBand.map(({ element }) => element)).toEqual(['Na', 'Cl'])
    expect(renew!.sliceShare).toBeLessThanOrEqual(0.1)
    // sodium from 88 to 50 mg/L with a well that brings 14
    expect(renew!.renewalShare).toBeCloseTo((88 - 50) / (88 - 14), 2)
    expect(renew!.outOfBand).toEqual([])
    expect(renew!.dischargeL).toBeLessThan(afresh!.dischargeL)
    expect(noteOf(view, 'Na').endMgPerL).toBeLessThanOrEqual(50.01)
  })

  it('run down by half: every element back in band', async () => {
    const view = await answered('used-everything-low.csv')
    expect(advisedOf(view).outOfBand).toEqual([])
    for (const { element, usedMgPerL, verdict, endMgPerL, lowMgPerL, highMgPerL } of view.notes) {
      expect(verdict, element).toBe(usedMgPerL < lowMgPerL ? 'brought in' : 'in band')
      expect(endMgPerL, element).toBeGreaterThanOrEqual(lowMgPerL * 0.999)
      expect(endMgPerL, element).toBeLessThanOrEqual(highMgPerL * 1.001)
    }
  })

  it('in mL of a site’s own stocks', async () => {
    const { water: _none, ...options } = given('used-potassium-starved.csv', { stocks: 'config/example/site.yaml' })
    const view = amendOutput.parse(JSON.parse((await said({ ...options, json: true })).text)) as AmendedView
    const amounts = advisedOf(view).amounts
    expect(amounts.map(({ unit }) => unit)).toEqual(amounts.map(() => 'mL'))
    expect(amounts.map(({ name }) => name)).toContain('nitrate')
    expect(amounts.map(({ name }) => name)).not.toContain('acid')
    expect(view.cautions.join()).toMatch(/Give one stock, let it mix in/)
    // the calcium stock of the example holds 100 g/L: run down by half, the reservoir needs litres of it
    const { water: _either, ...low } = given('used-everything-low.csv', { stocks: 'config/example/site.yaml' })
    expect((await said(low)).text.replace(/\s+/g, ' ')).toMatch(/The stocks themselves are \d\.\d L of water/)
  })

  it('counts the nitrate that the acid of a hard water brings to a fresh start', async () => {
    const hard = (await answered('used-sodium-built-up.csv')).options.at(-1)!
    const pure = (await answered('used-sodium-built-up.csv', { water: 'reverse-osmosis' })).options.at(-1)!
    // 208 mg/L CaCO3 are 4.16 meq/L, of which about 0.1 stays: 220 L need nearly 0.9 eq
    expect(hard.acidMeq).toBeGreaterThan(870)
    expect(hard.acidMeq).toBeLessThan(916)
    const nitrateSalt = (option: typeof hard) =>
      option.amounts.filter(({ name }) => /nitrate/.test(name)).reduce((sum, { exact }) => sum + exact, 0)
    expect(nitrateSalt(hard)).toBeLessThan(nitrateSalt(pure))
  })
})

describe('a report whose charges do not add up', () => {
  it('is held with what would explain it, and an exit code of its own', async () => {
    const { text, code } = await said(given('suspect-nitrate-as-ion.csv'))
    expect(code).toBe(1)
    expect(text).toMatch(/is held, and nothing was reckoned/)
    expect(text.replace(/\s+/g, ' ')).toMatch(/NO3-N, read as NO3-N, was meant as NO3 \(150 mg\/L/)
    const held = amendOutput.parse(JSON.parse((await said(given('suspect-nitrate-as-ion.csv', { json: true }))).text))
    expect(held.kind).toBe('held')
    expect((held as HeldView).explanations).toHaveLength(1)
  })

  it('is used when a person accepts it, and the doubt stays written', async () => {
    const view = await answered('suspect-nitrate-as-ion.csv', { accept: true })
    expect(view.remarks[0]).toMatch(/Accepted in spite of this/)
  })
})

describe('on a terminal', () => {
  const files = [
    'used-potassium-starved.csv',
    'used-nitrate-high.csv',
    'used-sodium-built-up.csv',
    'used-everything-low.csv',
  ]

  it.each([...files, 'suspect-nitrate-as-ion.csv'])('%s stays within 80 columns and without colour', async (lab) => {
    const { text } = await said(given(lab))
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80)
    expect(text.includes('\u001b')).toBe(false)
  })

  it('says what may be let go where, and defers to local codes', async () => {
    expect((await said(given('used-sodium-built-up.csv'))).text.replace(/\s+/g, ' ')).toMatch(/local codes decide/)
  })

  it.each([
    ['no file', { lab: desk('not-there.csv') }, /not-there\.csv cannot be read/],
    ['no volume', { volume: '220' }, /--volume/],
    ['a volume that is a mass', { volume: '220 g' }, /measures mass/],
    ['an unknown crop', { crop: 'cress' }, /known are butterhead-lettuce/],
    ['a salt nobody has', { only: 'unobtainium' }, /names no salt/],
    ['two kinds of shelf', { stocks: 'config/example/site.yaml', shelf: 'all' }, /either --shelf/],
    ['an acid that is none', { acid: 'citric' }, /allowed are nitric, phosphoric, sulfuric/],
  ])('%s ends with a sentence that says what to do', async (_what, more, why) => {
    await expect(said(given('used-potassium-starved.csv', more))).rejects.toThrow(why)
  })
})

describe('in time', () => {
  it('answers in under 200 ms after start-up, files read and checked', async () => {
    const timesMs: number[] = []
    for (let run = 0; run < 6; run++) {
      const began = performance.now()
      await said(given('used-sodium-built-up.csv'))
      timesMs.push(performance.now() - began)
    }
    // the best of several: the machine has other tests to run beside this one
    expect(Math.min(...timesMs)).toBeLessThan(200)
  })

  it('prints the same from the command line as a program', () => {
    const run = (...more: string[]) =>
      execFileSync(process.execPath, ['--import', 'tsx', 'src/main.ts', 'amend', ...more], { encoding: 'utf8' })
    const text = run('--lab', desk('used-potassium-starved.csv'), '--volume', '58 gal', '--json')
    expect(amendOutput.parse(JSON.parse(text))).toMatchObject({ kind: 'amendment', volumeL: expect.closeTo(219.55, 1) })
    expect(JSON.parse(run('--json-schema'))).toMatchObject({ oneOf: expect.anything() })
  })
})
