import { describe, expect, test } from 'vitest'
import { formatConfigurationError } from '../../../src/config/configuration-error.ts'
import { configurationHash } from '../../../src/config/configuration-hash.ts'
import { parseConfiguration } from '../../../src/config/parse-configuration.ts'
import { type Change, changedTexts, complaints, exampleTexts, placeOf } from './example-texts.ts'

describe('a configuration without mistakes', () => {
  test('the example site is one', async () => {
    expect(await complaints()).toEqual([])
  })

  test('a quantity left out takes its default', async () => {
    const reading = await parseConfiguration(changedTexts({ in: 'site', replace: '  filmL: 12\n', by: '' }))
    expect(reading.ok && reading.configuration.site.reservoir.filmL).toBe(0)
    expect(reading.ok && reading.configuration.site.grid.stepMin).toBe(10)
  })

  test('cannot be changed afterwards', async () => {
    const reading = await parseConfiguration(exampleTexts())
    if (!reading.ok) throw new Error('the example is broken')
    const { acid } = reading.configuration.limits.stocks
    expect(() => Object.assign(acid!, { shotMaxMl: 500 })).toThrow(TypeError)
  })

  test('JSON is taken as well, being YAML', async () => {
    const texts = exampleTexts()
    const { parse } = await import('yaml')
    texts.limits.text = JSON.stringify(parse(texts.limits.text))
    expect((await parseConfiguration(texts)).ok).toBe(true)
  })
})

describe('a mistake is told with file, line, column, what was found and what is allowed', () => {
  test('a number beyond its bounds', async () => {
    expect(await complaints({ in: 'site', replace: 'volumeL: 220', by: 'volumeL: 220000' })).toContain(
      `site.yaml:${placeOf('site', '220\n  volumeMinL')}  reservoir.volumeL: found 220000, allowed 10 to 20000 L. ` +
        'Correct it: volume with everything that returns to it, at the usual level.',
    )
  })

  test('a name that every object inherits names no probe, nor anything else', async () => {
    const told = (await complaints({ in: 'site', replace: 'id: ec-1', by: 'id: constructor' })).join('\n')
    expect(told).toMatch(
      /found 'constructor', allowed lower-case letters, digits and hyphens, .* not the word constructor/,
    )
  })

  test('a missing key is told at its parent', async () => {
    expect(await complaints({ in: 'limits', replace: '  levelMinL: 130\n', by: '' })).toEqual([
      `limits.yaml:${placeOf('limits', 'water:')}  water.levelMinL: found nothing, allowed 5 to 20000 L. ` +
        'Add it: no dose while less water is there.',
    ])
  })

  test('an unknown key is told at the key, with the one that was perhaps meant', async () => {
    const [complaint, ...others] = await complaints({ in: 'limits', replace: '  stuckMin:', by: '  stukMin:' })
    expect(complaint).toContain(`limits.yaml:${placeOf('limits', 'probes:')}  probes.stuckMin: found nothing`)
    expect(others).toHaveLength(1)
    expect(others[0]).toContain(
      `limits.yaml:${placeOf('limits', 'stuckMin:')}  probes.stukMin: found an unknown key, allowed only `,
    )
    expect(others[0]).toContain('Perhaps stuckMin is meant')
  })

  test('a duplicate key', async () => {
    const found = await complaints({ in: 'limits', replace: '  phMin: 4.8', by: '  phMin: 4.8\n  phMin: 4.9' })
    expect(found).toEqual([
      `limits.yaml:${placeOf('limits', 'phMax')}  found a key for the second time, allowed each key once. Remove one of the two.`,
    ])
  })

  test('text that is no YAML', async () => {
    const [complaint] = await complaints({ in: 'salts', replace: 'reagents:', by: 'reagents: [' })
    expect(complaint).toMatch(/^salts\.yaml:\d+:\d+ {2}found text that is not YAML, allowed YAML 1\.2\./)
  })

  test('text for a number', async () => {
    const [complaint] = await complaints({ in: 'limits', replace: 'phMax: 7.2', by: 'phMax: seven' })
    expect(complaint).toContain(
      `limits.yaml:${placeOf('limits', '7.2')}  probes.phMax: found 'seven', allowed 5 to 9. `,
    )
  })

  test.each(['.nan', '.inf', '-.inf'])('%s is no number', async (by) => {
    const found = await complaints({ in: 'limits', replace: 'shotMaxMl: 8,', by: `shotMaxMl: ${by},` })
    expect(found.join('\n')).toContain(`stocks.acid.shotMaxMl: found ${by}, allowed 0 to 5000 mL`)
  })

  test('an empty file', async () => {
    const texts = { ...exampleTexts(), limits: { name: 'limits.yaml', text: '' } }
    const reading = await parseConfiguration(texts)
    expect(reading.ok ? [] : reading.errors.map(formatConfigurationError)).toEqual([
      'limits.yaml:1:1  found nothing, allowed a map of keys. Add it: what may be delivered.',
    ])
  })

  test('all mistakes of all files come at once, in the order of reading', async () => {
    const found = await complaints(
      { in: 'crops', replace: 'growthSd: 0.25', by: 'growthSd: 25' },
      { in: 'site', replace: 'zone: Europe/Lisbon', by: 'zone: Mars/Olympus' },
      { in: 'limits', replace: 'mode: observe', by: 'mode: dose' },
      { in: 'site', replace: 'nodes: [bench]', by: 'nodes: [shed]' },
    )
    const files = found.map((line) => line.split(':')[0])
    expect(files).toEqual([...files].sort((a, b) => order(a!) - order(b!)))
    expect(found.join('\n')).toContain("zone: found 'Mars/Olympus'")
    expect(found.join('\n')).toContain("mode: found 'dose', allowed one of observe, advise, automatic")
    expect(found.join('\n')).toContain("probes.0.node: found 'bench', allowed shed")
    expect(found.join('\n')).toContain('growthSd: found 25, allowed 0 to 1')
  })
})

function order(file: string): number {
  return ['site.yaml', 'limits.yaml', 'crops.yaml', 'salts.yaml'].indexOf(file)
}

describe('a quantity typed with a unit', () => {
  test('US gallons where litres are wanted', async () => {
    const reading = await parseConfiguration(
      changedTexts({ in: 'site', replace: 'volumeL: 220\n  volumeMinL', by: 'volumeL: 58 gal\n  volumeMinL' }),
    )
    // US gallon 3.785411784 L, exact by definition
    expect(reading.ok && reading.configuration.site.reservoir.volumeL).toBeCloseTo(58 * 3.785411784, 9)
  })

  test.each([
    ['mixingMin: 25', 'mixingMin: 1500 s', 25],
    ['mixingMin: 25', 'mixingMin: 0.5 h', 30],
  ])('%s as %s', async (replace, by, expected) => {
    const wide = { in: 'limits', replace: 'gapMin: 25', by: 'gapMin: 60' } as const
    const apart = { in: 'limits', replace: 'from: phosphate, min: 25', by: 'from: phosphate, min: 60' } as const
    const reading = await parseConfiguration(changedTexts({ in: 'site', replace, by }, wide, apart))
    expect(reading.ok && reading.configuration.site.reservoir.mixingMin).toBeCloseTo(expected, 9)
  })

  test('Fahrenheit is converted as a temperature, not as a difference', async () => {
    const reading = await parseConfiguration(
      changedTexts({ in: 'site', replace: 'temperatureC: 20', by: 'temperatureC: 77 °F' }),
    )
    expect(reading.ok && reading.configuration.site.reservoir.temperatureC).toBeCloseTo(25, 9)
  })

  test.each(['5 kg', '58', 'plenty', '5 parsec'])(
    '%s is refused for litres, naming the units that fit',
    async (text) => {
      const found = await complaints({
        in: 'site',
        replace: 'volumeL: 220\n  volumeMinL',
        by: `volumeL: '${text}'\n  volumeMinL`,
      })
      expect(found).toEqual([
        `site.yaml:${placeOf('site', '220\n  volumeMinL')}  reservoir.volumeL: found '${text}', allowed a number in L, or a ` +
          'text with one of the units L, mL, gal, qt, m^3. Correct it: volume with everything that returns to it, at the usual level.',
      ])
    },
  )

  test('a text with a unit is held to the same bounds', async () => {
    const [complaint] = await complaints({ in: 'site', replace: 'temperatureC: 20', by: 'temperatureC: 150 degF' })
    expect(complaint).toContain("found '150 degF', allowed 2 to 40 degC")
  })
})

describe('the hash of a configuration', () => {
  const hashOf = async (...changes: Change[]) => {
    const reading = await parseConfiguration(changedTexts(...changes))
    if (!reading.ok) throw new Error(reading.errors.map(formatConfigurationError).join('\n'))
    return configurationHash(reading.configuration)
  }

  test('is not moved by comments, the order of keys or the way a number is typed', async () => {
    const plain = await hashOf()
    expect(plain).toMatch(/^[0-9a-f]{64}$/)
    expect(
      await hashOf({
        in: 'site',
        replace: 'site: quarry-lane\nzone: Europe/Lisbon',
        by: '# new\nzone: Europe/Lisbon\nsite: quarry-lane',
      }),
    ).toBe(plain)
    expect(await hashOf({ in: 'site', replace: 'mixingMin: 25', by: 'mixingMin: 25.0' })).toBe(plain)
  })

  test('is moved by any value', async () => {
    expect(await hashOf({ in: 'limits', replace: 'phFloor: 5.4', by: 'phFloor: 5.5' })).not.toBe(await hashOf())
    expect(await hashOf({ in: 'salts', replace: 'solubilityGPerL: 1290', by: 'solubilityGPerL: 1291' })).not.toBe(
      await hashOf(),
    )
  })
})
