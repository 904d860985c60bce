import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it, vi } from 'vitest'

const folder = mkdtempSync(join(import.meta.dirname, 'readme-'))
afterAll(() => rmSync(folder, { recursive: true }))

describe('the example in the README', () => {
  const code = /```ts\n([\s\S]*?)```/.exec(readFileSync('README.md', 'utf8'))?.[1] ?? ''

  it('is about fifteen lines', () => {
    expect(code.trim().split('\n').length).toBeGreaterThan(10)
    expect(code.trim().split('\n').length).toBeLessThanOrEqual(20)
  })

  it('runs as it stands and prints what potassium is believed to be', async () => {
    const file = join(folder, 'example.ts')
    writeFileSync(file, code)
    const said = vi.spyOn(console, 'log').mockImplementation(() => {})
    await import(file)
    const [potassium, doses] = said.mock.calls[0] ?? []
    said.mockRestore()
    expect(potassium).toEqual({ mgPerL: expect.any(Number), sdMgPerL: expect.any(Number) })
    expect((potassium as { mgPerL: number }).mgPerL).toBeGreaterThan(100)
    expect(Array.isArray(doses)).toBe(true)
  })
})
