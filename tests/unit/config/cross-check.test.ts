import { describe, expect, test } from 'vitest'
import { type Change, complaints, placeOf } from './example-texts.ts'

/** The one complaint after one change. */
async function only(...changes: Change[]): Promise<string> {
  const found = await complaints(...changes)
  expect(found, found.join('\n')).toHaveLength(1)
  return found[0]!
}

describe('stocks and limits', () => {
  test('a stock without limits is an error that says where to add them', async () => {
    const line = /\n {2}nitrate: {3}\{.*\}/.exec(await textOfLimits())![0]
    expect(await only({ in: 'limits', replace: line, by: '' })).toBe(
      `limits.yaml:${placeOf('limits', 'stocks:')}  stocks.nitrate: found no limits for the stock nitrate, allowed an entry for every ` +
        'stock of the site. Missing limit: add an entry nitrate under stocks with shotMaxMl, hourMaxMl, dayMaxMl, gapMin ' +
        'and apart; a stock without limits is never dosed.',
    )
  })

  test.each(['shotMaxMl', 'hourMaxMl', 'dayMaxMl', 'gapMin'])('an entry that lacks %s is an error', async (key) => {
    const line = /\n {2}nitrate: {3}\{.*\}/.exec(await textOfLimits())![0]
    const by = line.replace(new RegExp(`${key}: \\d+, +`), '')
    const found = await only({ in: 'limits', replace: line, by })
    expect(found).toContain(`stocks.nitrate.${key}: found nothing`)
    expect(found).toMatch(new RegExp(`^limits\\.yaml:${placeOf('limits', 'nitrate:')} `))
  })

  test('limits for a stock that is not there', async () => {
    const found = await complaints({ in: 'limits', replace: '  nitrate:', by: '  nitrates:' })
    expect(found.join('\n')).toContain(
      'stocks.nitrates: found limits for a stock the site has not, allowed acid, calcium, nitrate or phosphate',
    )
    expect(found).toHaveLength(2)
  })

  test('calcium and phosphate must be apart for the time of mixing', async () => {
    const drop = (stock: string) =>
      ({ in: 'limits', replace: `apart: [{ from: ${stock}, min: 25 }]`, by: 'apart: []' }) as const
    expect(await complaints(drop('calcium'))).toEqual([]) // one of the two suffices: it holds both ways
    expect(await only(drop('calcium'), drop('phosphate'))).toContain(
      'stocks.calcium.apart: found nothing that keeps calcium apart from phosphate, allowed { from: phosphate, min: 25 } or longer',
    )
    const short = { in: 'limits', replace: 'from: phosphate, min: 25', by: 'from: phosphate, min: 5' } as const
    expect(await only(short, drop('calcium'))).toContain(
      'stocks.calcium.apart.0.min: found 5, allowed at least reservoir.mixingMin, which is 25',
    )
  })

  test('caps that contradict each other', async () => {
    expect(
      await only({ in: 'limits', replace: 'shotMaxMl: 8,  hourMaxMl: 16', by: 'shotMaxMl: 8,  hourMaxMl: 4' }),
    ).toContain('stocks.acid.hourMaxMl: found 4, allowed at least stocks.acid.shotMaxMl, which is 8')
  })

  test('a cap below what the pump can deliver', async () => {
    expect(await only({ in: 'limits', replace: 'shotMaxMl: 8,', by: 'shotMaxMl: 0.4,' })).toContain(
      'stocks.acid.shotMaxMl: found 0.4, allowed 0, or at least shotMinMl of the stock, which is 0.5',
    )
  })
})

describe('acid', () => {
  test('a shot larger than the reservoir can take', async () => {
    expect(await only({ in: 'limits', replace: 'shotMaxMl: 8,', by: 'shotMaxMl: 10,' })).toBe(
      `limits.yaml:${placeOf('limits', '8,  hourMaxMl: 16')}  stocks.acid.shotMaxMl: found 10, allowed 0 to 8 mL. 0.04 meq/L ` +
        '(acid.shotMaxMeqPerL) in 200 L at 1 meq/mL leaves no more in one shot. Lower it, or dilute the acid further.',
    )
  })

  test('the ceiling of 0.04 meq/L cannot be raised', async () => {
    const found = await complaints({ in: 'limits', replace: 'shotMaxMeqPerL: 0.04', by: 'shotMaxMeqPerL: 0.05' })
    expect(found.join('\n')).toContain('acid.shotMaxMeqPerL: found 0.05, allowed 0.001 to 0.04 meq/L')
  })

  test('two strengths for one bottle', async () => {
    const found = await only({ in: 'site', replace: 'eqPerL: 1 ', by: 'eqPerL: 2 ' })
    expect(found).toContain('acid.strengthMeqPerMl: found 1, allowed 2. site.yaml says that acid has 2 eq/L')
  })

  test('without the section acid', async () => {
    const text = await textOfLimits()
    const found = await only({ in: 'limits', replace: text.slice(text.indexOf('\nacid:')), by: '\n' })
    expect(found).toContain('acid: found no section acid, allowed a section acid, since the site has acid')
  })

  test('an acid that the section does not list', async () => {
    const found = await complaints({ in: 'limits', replace: 'stocks: [acid]', by: 'stocks: [calcium]' })
    expect(found.join('\n')).toContain("acid.stocks.0: found 'calcium', allowed acid")
    expect(found.join('\n')).toContain('acid.stocks: found no acid, allowed every stock of kind acid')
  })

  test('a wait shorter than mixing', async () => {
    expect(await only({ in: 'limits', replace: 'gapMin: 25', by: 'gapMin: 10' })).toContain(
      'stocks.acid.gapMin: found 10, allowed at least reservoir.mixingMin, which is 25',
    )
  })

  test('more water than is there when no probe tells the level', async () => {
    const probe = '  - { id: level-1, node: bench, role: level, unit: L }\n'
    const found = await only(
      { in: 'site', replace: probe, by: '' },
      {
        in: 'site',
        replace: 'nodes: [bench]',
        by: 'nodes: [bench]\nnotFitted: [{ role: level, reason: no room in the tank }]',
      },
    )
    expect(found).toContain(
      'acid.reservoirMinL: found 200, allowed at most reservoir.volumeMinL of the site, which is 120',
    )
  })

  test('a base cannot pass as an ordinary stock: without a section of its own it is refused', async () => {
    const found = await complaints({
      in: 'site',
      replace: 'kind: acid\n    reagent: { name: nitric acid',
      by: 'kind: base\n    reagent: { name: potassium hydroxide',
    })
    expect(found.join('\n')).toContain('base: found no section base, allowed a section base, since the site has acid')
  })

  test('more alkalinity than the make-up water has', async () => {
    const found = await only({ in: 'site', replace: 'alkalinityMgPerLCaco3: 208', by: 'alkalinityMgPerLCaco3: 100' })
    expect(found).toContain('acid.buffering.sourceMeqPerL: found 2.75, allowed at most 2.00 meq/L')
  })

  test('a trim that leaves the make-up water no say', async () => {
    const found = await only({ in: 'limits', replace: 'trimMeqPerHour: 8.0', by: 'trimMeqPerHour: 16.1' })
    expect(found).toContain('acid.buffering.trimMeqPerHour: found 16.1, allowed at most 16 meq')
  })

  test('no meter, and nothing said of the make-up water in its place', async () => {
    const probe = /\n {2}- \{ id: meter-1.*\}/.exec(await textOfSite())![0]
    const found = (await complaints({ in: 'site', replace: probe, by: '' })).join('\n')
    expect(found).toContain('acid.buffering.unmeteredMeqPerHour: found no unmeteredMeqPerHour')
  })

  test('hypochlorite on a pump beside acid', async () => {
    const found = (await complaints({ in: 'site', replace: 'id: nitrate', by: 'id: hypochlorite' })).join('\n')
    expect(found).toContain('allowed no hypochlorite, peroxide or peracid on a pump of a site that doses acid')
  })
})

describe('probes', () => {
  test('a unit that cannot state what the probe measures', async () => {
    expect(await only({ in: 'site', replace: "role: ph, unit: '[pH]'", by: 'role: ph, unit: Cel' })).toBe(
      `site.yaml:${placeOf('site', "'[pH]'")}  probes.1.unit: found 'Cel', allowed [pH]. A ph probe cannot send this unit.`,
    )
  })

  test('a flow switch is a flow probe', async () => {
    expect(await complaints({ in: 'site', replace: 'role: flow, unit: L/min', by: "role: flow, unit: '1'" })).toEqual(
      [],
    )
  })

  test('no site without a pH probe', async () => {
    const line = "  - { id: ph-1, node: bench, role: ph, unit: '[pH]' }\n"
    expect(await only({ in: 'site', replace: line, by: '' })).toBe(
      `site.yaml:${placeOf('site', 'probes:')}  probes: found no ph probe, allowed a probe of role ph. Add one: without it acid cannot be judged.`,
    )
  })

  test('a level probe may be missing, but not in silence', async () => {
    const line = '  - { id: flow-1, node: bench, role: flow, unit: L/min }\n'
    expect(await only({ in: 'site', replace: line, by: '' })).toContain('or name the role with a reason in notFitted')
    const declared = {
      in: 'site',
      replace: 'nodes: [bench]',
      by: 'nodes: [bench]\nnotFitted: [{ role: flow, reason: gravity fed }]',
    } as const
    expect(await complaints({ in: 'site', replace: line, by: '' }, declared)).toEqual([])
    expect(await only(declared)).toContain('allowed roles that no probe has')
  })
})

describe('names', () => {
  test.each([
    [
      'a salt',
      'salt: potassium nitrate',
      'salt: potassium nitrite',
      "stocks.2.salts.0.salt: found 'potassium nitrite'",
    ],
    [
      'an acid',
      'name: nitric acid',
      'name: muriatic acid',
      "stocks.3.reagent.name: found 'muriatic acid', allowed nitric acid, phosphoric acid or sulfuric acid",
    ],
    [
      'a crop',
      'crop: basil',
      'crop: basilikum',
      "cohorts.1.crop: found 'basilikum', allowed basil, batavia-lettuce, butterhead-lettuce or tomato",
    ],
    ['a node', 'id: ec-1, node: bench', 'id: ec-1, node: beach', "probes.0.node: found 'beach', allowed bench"],
  ])('%s that is not known', async (_what, replace, by, expected) => {
    expect(await only({ in: 'site', replace, by })).toContain(expected)
  })

  test.each([
    ['id: ph-1', 'id: ec-1', 'probes.1.id'],
    ['id: lettuce-1', 'id: basil-1', 'cohorts.1.id'],
  ])('%s given twice', async (replace, by, path) => {
    expect(await only({ in: 'site', replace, by })).toContain(`${path}: found '${by.slice(4)}', allowed each id once`)
  })

  test('two stocks on one pump', async () => {
    expect(await only({ in: 'site', replace: 'pump: pump-2', by: 'pump: pump-1' })).toContain(
      "stocks.1.pump: found 'pump-1', allowed one pump for each stock. calcium has it already.",
    )
  })
})

describe('figures that must be in order', () => {
  test.each([
    [
      'crops',
      'lowMgPerL: 110, aimMgPerL: 150',
      'lowMgPerL: 160, aimMgPerL: 150',
      'NO3-N.aimMgPerL: found 150, allowed more than crops.butterhead-lettuce.bands.NO3-N.lowMgPerL, which is 160',
    ],
    ['crops', 'low: 5.5, aim: 5.9', 'low: 5.9, aim: 5.9', 'ph.aim: found 5.9, allowed more than'],
    ['limits', 'phMin: 4.8', 'phMin: 7.0', undefined],
    [
      'limits',
      'levelMaxL: 255',
      'levelMaxL: 270',
      'water.levelMaxL: found 270, allowed at most reservoir.volumeMaxL of the site, which is 260',
    ],
    [
      'limits',
      'levelMinL: 130',
      'levelMinL: 100',
      'water.levelMinL: found 100, allowed at least reservoir.volumeMinL of the site, which is 120',
    ],
    ['site', 'volumeMinL: 120', 'volumeMinL: 230', undefined],
    [
      'site',
      "litUntil: '22:00'",
      "litUntil: '02:00'",
      "photoperiod.litUntil: found '02:00', allowed later than litFrom",
    ],
    [
      'site',
      'transplantedOn: 2026-03-02 }',
      'transplantedOn: 2026-03-02, harvestedOn: 2026-03-01 }',
      "harvestedOn: found '2026-03-01', allowed a day after 2026-03-02",
    ],
    [
      'site',
      'transplantedOn: 2026-03-02 }',
      'transplantedOn: 2026-02-30 }',
      "transplantedOn: found '2026-02-30', allowed a day of the calendar",
    ],
  ] as const)('%s: %s as %s', async (part, replace, by, expected) => {
    const found = await complaints({ in: part, replace, by })
    expect(found.length).toBeGreaterThan(0)
    if (expected !== undefined) expect(found.join('\n')).toContain(expected)
  })
})

describe('salts', () => {
  test('a formula that cannot be read', async () => {
    const found = await only({ in: 'salts', replace: 'formula: KNO3,', by: 'formula: KNO3x,' })
    expect(found).toContain("salts.potassium nitrate.formula: found 'KNO3x', allowed what can be read and tracked")
  })

  test('nitrogen that cannot be tracked', async () => {
    const found = await only({ in: 'salts', replace: 'formula: KNO3,', by: 'formula: CO(NH2)2,' })
    expect(found).toContain('neither nitrate (NO3) nor ammonium (NH4)')
  })

  test('a formula and a label for one salt', async () => {
    const found = await only({ in: 'salts', replace: 'formula: KNO3,', by: 'formula: KNO3, label: { K2O: 46 },' })
    expect(found).toContain('found both a formula and a label, allowed either formula or label')
  })

  test('an acid that is none', async () => {
    const found = await complaints({ in: 'salts', replace: 'formula: HNO3', by: 'formula: KNO3' })
    expect(found.join('\n')).toContain(
      "reagents.nitric acid.formula: found 'KNO3', allowed the formula of an acid. It is a neutral salt.",
    )
  })
})

async function textOfSite(): Promise<string> {
  const { exampleTexts } = await import('./example-texts.ts')
  return exampleTexts().site.text
}

async function textOfLimits(): Promise<string> {
  const { exampleTexts } = await import('./example-texts.ts')
  return exampleTexts().limits.text
}
