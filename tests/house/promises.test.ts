import { existsSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'

interface Row {
  readonly id: string
  readonly promise: string
  readonly file: string
  readonly name: string
}

/** Rows of the table between its marks: `| id | promise | file › name of the test |`. */
function readPromises(): Row[] {
  const text = readFileSync('DEVELOPERS.md', 'utf8')
  const table = /<!-- promises: [^>]*-->([\s\S]*?)<!-- \/promises -->/.exec(text)?.[1] ?? ''
  const rows = table.split('\n').filter((line) => /^\| [A-Z]\d+ \|/.test(line))
  return rows.map((line) => {
    const [id = '', promise = '', test = ''] = line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim())
    const [file = '', name = ''] = test.replaceAll('`', '').split(' › ')
    return { id, promise, file, name }
  })
}

const promises = readPromises()

describe('the table of promises', () => {
  it('holds promises, each with an id of its own', () => {
    expect(promises.length).toBeGreaterThan(20)
    expect(new Set(promises.map(({ id }) => id)).size).toBe(promises.length)
  })

  it.each(promises)('$id has a test that stands: $promise', ({ file, name }) => {
    expect(existsSync(file), `${file} is not there`).toBe(true)
    expect(name.length).toBeGreaterThan(5)
    expect(readFileSync(file, 'utf8'), `${file} has no test "${name}"`).toContain(name)
  })
})
