import fc from 'fast-check'
import { expect, test } from 'vitest'
import { parseConfiguration } from '../../../src/config/parse-configuration.ts'
import { exampleTexts } from './example-texts.ts'

const PARTS = ['site', 'limits', 'crops', 'salts'] as const

test('a damaged file gives errors with places inside the file, or a configuration; never an exception', async () => {
  const texts = exampleTexts()
  const damage = fc.tuple(fc.constantFrom(...PARTS), fc.nat(), fc.nat(30), fc.string({ maxLength: 8, unit: 'binary' }))
  await fc.assert(
    fc.asyncProperty(damage, async ([part, at, length, by]) => {
      const { name, text } = texts[part]
      const start = at % text.length
      const broken = text.slice(0, start) + by + text.slice(start + length)
      const reading = await parseConfiguration({ ...texts, [part]: { name, text: broken } })
      if (reading.ok) return
      for (const { file, line, column } of reading.errors) {
        const whole = file === name ? broken : texts[file.replace('.yaml', '') as keyof typeof texts].text
        expect(line >= 1 && line <= whole.split('\n').length && column >= 1).toBe(true)
      }
    }),
    { numRuns: 50 },
  )
})
