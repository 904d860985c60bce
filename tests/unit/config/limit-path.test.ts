import { describe, expect, it } from 'vitest'
import type { z } from 'zod'
import { isWithin, limitsInFile, looserOf, withLimits } from '../../../src/config/limit-path.ts'
import { limitsSchema } from '../../../src/config/limits-schema.ts'
import { parseConfiguration } from '../../../src/config/parse-configuration.ts'
import { complaints, exampleTexts } from './example-texts.ts'

async function example() {
  const reading = await parseConfiguration(exampleTexts())
  if (!reading.ok) throw new Error('the example is broken')
  return reading.configuration.limits
}

/** Paths of every number of a schema, `x` standing for any name. */
function numbersOf(schema: unknown, path: readonly string[] = []): string[] {
  const { def } = (schema as z.ZodType)._zod as unknown as {
    def: {
      type: string
      innerType?: unknown
      out?: unknown
      options?: unknown[]
      element?: unknown
      valueType?: unknown
      shape?: Record<string, unknown>
    }
  }
  if (def.innerType) return numbersOf(def.innerType, path)
  if (def.type === 'pipe') return numbersOf(def.out, path)
  if (def.type === 'union') return def.options!.flatMap((option) => numbersOf(option, path))
  if (def.type === 'array') return numbersOf(def.element, [...path, 'x'])
  if (def.type === 'record') return numbersOf(def.valueType, [...path, 'x'])
  if (def.type === 'object')
    return Object.entries(def.shape!).flatMap(([key, inner]) => numbersOf(inner, [...path, key]))
  return def.type === 'number' ? [path.join('.')] : []
}

describe('a limit', () => {
  it('says which way is looser, whichever it is', () => {
    const paths = numbersOf(limitsSchema).filter((path) => !path.startsWith('ceilings'))
    expect(paths.length).toBeGreaterThan(40)
    expect(paths.filter((path) => looserOf(path) === undefined)).toEqual([])
  })

  it('is found by its path, a wait by the name of the other stock', async () => {
    const limits = await example()
    const wait = limitsInFile(limits).find(({ path }) => path === 'stocks.acid.apart.phosphate.min')
    expect(wait).toMatchObject({ value: 5, looser: 'lower', loosest: 5 })
    const other = withLimits(limits, { 'stocks.acid.apart.phosphate.min': 9, 'stocks.acid.shotMaxMl': 4 })
    expect(other.stocks['acid']).toMatchObject({ shotMaxMl: 4, apart: [{ from: 'calcium', min: 5 }, { min: 9 }] })
    expect(limits.stocks['acid']!.shotMaxMl).toBe(8)
  })

  it('that is not a number is within nothing', () => {
    expect([isWithin('higher', Number.NaN, 8), isWithin('lower', Number.NaN, 8)]).toEqual([false, false])
  })
})

describe('a ceiling', () => {
  const ceiling = (line: string) =>
    complaints({ in: 'limits', replace: 'probes:\n', by: `ceilings:\n  ${line}\nprobes:\n` })

  it('looser than its limit is taken', async () => {
    expect(await ceiling('stocks.acid.shotMaxMl: 8.5')).toEqual([])
    expect(await ceiling('water.levelMinL: 125')).toEqual([])
  })

  it('tighter than its limit is refused with its place', async () => {
    const [first] = await ceiling('stocks.acid.shotMaxMl: 7')
    expect(first).toMatch(
      /^limits.yaml:\d+:\d+ {2}ceilings.stocks.acid.shotMaxMl: found 7, allowed at least the limit itself, which is 8/,
    )
    const [wait] = await ceiling('stocks.acid.gapMin: 26')
    expect(wait).toContain('allowed at most the limit itself, which is 25')
  })

  it('of no limit, of a strength, or beyond what any file may allow is refused with its place', async () => {
    expect((await ceiling('stocks.acid.shotMax: 9'))[0]).toContain('found no such limit')
    expect((await ceiling('acid.strengthMeqPerMl: 2'))[0]).toContain('allowed no ceiling for it')
    expect((await ceiling('acid.shotMaxMeqPerL: 0.05'))[0]).toContain('allowed 0.001 to 0.04')
    expect((await ceiling('water.levelMinL: low'))[0]).toContain('a number, in the unit of the limit')
  })
})
