import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { LaboratoryUpload } from '../../../src/shell/daemon-view.ts'
import { readUpload } from '../../../src/shell/laboratory-upload.ts'

const EXAMPLE = 'config/example/laboratory-2026-03-16.csv'

function upload(text: string, changes: Partial<LaboratoryUpload> = {}): LaboratoryUpload {
  return {
    fileName: 'report.csv',
    text,
    sampledAtMs: Date.parse('2026-03-15T08:30:00Z'),
    by: 'Ines',
    isAccepted: false,
    ...changes,
  }
}

const example = (changes?: Partial<LaboratoryUpload>) => readUpload(upload(readFileSync(EXAMPLE, 'utf8'), changes))

function resultOf(read: ReturnType<typeof readUpload>) {
  if (read.kind !== 'result') throw new Error(JSON.stringify(read))
  return read.result
}

describe('an uploaded report', () => {
  it('becomes a result of the bottle’s own time, an interval where there is only a detection limit', () => {
    const result = resultOf(example())
    expect(result.sampledAtMs).toBe(Date.parse('2026-03-15T08:30:00Z'))
    expect(result.values).toContainEqual({ element: 'K', mgPerL: 182 })
    expect(result.values).toContainEqual({ element: 'NH4-N', belowMgPerL: 0.2 })
    expect(result).toMatchObject({ ph: 6.1, conductivityDsPerM: 1.76 })
  })

  it('is the same result when it is sent again, and another one for another bottle', () => {
    const [first, again, other] = [example(), example(), example({ sampledAtMs: 0 })].map((read) => resultOf(read).id)
    expect(again).toBe(first)
    expect(other).not.toBe(first)
  })

  it('says what it left out, and why', () => {
    const read = example()
    expect(read.kind === 'result' && read.text).toMatch(/^read in mg\/L: .*K 182.*; .*left out \(/)
  })

  it('whose charges do not add up is held with its doubts, until a person accepts it', () => {
    // Nitrate given as the ion reads 4.43 times as much, as NO3 weighs against N.
    const suspect = readFileSync(EXAMPLE, 'utf8').replace('Nitrate-N;138;', 'Nitrate-N;611;')
    const read = readUpload(upload(suspect))
    expect(read).toMatchObject({
      kind: 'held',
      why: [
        expect.stringMatching(/anions are in excess/),
        expect.stringMatching(/NO3-N, read as NO3-N, was meant as NO3 \(138 mg\/L/),
      ],
    })
    expect(resultOf(readUpload(upload(suspect, { isAccepted: true }))).id).toBe(read.kind === 'held' ? read.id : '')
  })

  it('that is none is unreadable, with the line and what is needed', () => {
    const read = readUpload(upload('<!doctype html><html></html>'))
    expect(read).toMatchObject({
      kind: 'unreadable',
      errors: [expect.objectContaining({ message: expect.any(String) })],
    })
  })

  it('of several bottles is refused until one is named', () => {
    const two = 'sample,analyte,value,unit\nnorth,Potassium,180,mg/L\nsouth,Potassium,150,mg/L\n'
    expect(readUpload(upload(two))).toMatchObject({ kind: 'refused', why: [expect.stringMatching(/^report\.csv: /)] })
    expect(resultOf(readUpload(upload(two, { sample: 'south', isAccepted: true }))).values).toEqual([
      { element: 'K', mgPerL: 150 },
    ])
  })

  it('with a mapping that is no mapping is unreadable, and the mapping’s own file is named', () => {
    const read = readUpload(
      upload('analyte,value,unit\nKalium,182,mg/L\n', { mapping: { fileName: 'words.yaml', text: ': [' } }),
    )
    expect(read).toMatchObject({ kind: 'unreadable' })
    expect(JSON.stringify(read)).toContain('words.yaml')
  })
})
