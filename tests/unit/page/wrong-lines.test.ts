import { describe, expect, it } from 'vitest'
import { wrongLines } from '../../../src/page/data/wrong-lines.ts'

const probe = (id: string) => ({ kind: 'probe', priority: 'high', text: `${id}: no reading yet`, id }) as const
const ALARM = { kind: 'alarm', priority: 'low', text: 'A laboratory result is due.', id: 'sample-overdue' } as const

describe('what is wrong, as lines', () => {
  it('says two silent probes apart, and six as one line that names them', () => {
    const [one, two] = [probe('ec-1'), probe('ph-1')]
    expect(wrongLines([one, two, ALARM])).toEqual([one, two, ALARM])
    const six = ['ec-1', 'ph-1', 'level-1', 'flow-1', 'meter-1', 'temperature-1'].map(probe)
    expect(wrongLines([...six, ALARM]).map(({ text }) => text)).toEqual([
      '6 probes have no good reading: ec-1, ph-1, level-1, flow-1, meter-1, temperature-1',
      'A laboratory result is due.',
    ])
  })

  it('never puts two alarms together: each asks for something else', () => {
    const alarms = ['a', 'b', 'c'].map((id) => ({ ...ALARM, id }))
    expect(wrongLines(alarms)).toHaveLength(3)
  })
})
