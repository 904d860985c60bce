import { describe, expect, it } from 'vitest'
import { type JudgedRow, rebuildBook, rebuildMakeUp, type SettledRow } from '../../src/safety/rebuild.ts'
import { rebuildTotals } from '../../src/safety/rebuild-totals.ts'
import { initialSafetyState } from '../../src/safety/state.ts'
import { LIMITS, MINUTE } from './bench.ts'

const AT = 1_800_000_000_000

function judged(change: Partial<JudgedRow> = {}): JudgedRow {
  const place = { node: 'bench', pump: 'pump-3', stock: 'nitrate', boot: 'boot-1' }
  const run = { planId: 'plan-1', volumeUl: 10_000, runMs: 20_000, startBeforeUptimeMs: 60_000, totalRunMs: 1000 }
  const figures = { rateUlPerS: 450, doubtMs: 30 }
  return { kind: 'judged', atMs: AT, verdict: 'permit', commandId: 'c-1', ...place, ...run, figures, ...change }
}

function settled(change: Partial<SettledRow> = {}): SettledRow {
  const delivered = { lowUl: 4000, highUl: 5000 }
  return { kind: 'settled', atMs: AT, commandId: 'c-1', stock: 'nitrate', outcome: 'done', delivered, ...change }
}

const commandsOf = (...rows: readonly (JudgedRow | SettledRow)[]) => rebuildBook(LIMITS, rows, AT + MINUTE).commands

describe('a book that is rebuilt from its records', () => {
  it('has a permitted command that nobody settled as unknown, sent and from before, with the figures of its verdict', () => {
    expect(commandsOf(judged())).toEqual([
      {
        ...{ commandId: 'c-1', node: 'bench', pump: 'pump-3', stock: 'nitrate', planId: 'plan-1', volumeUl: 10_000 },
        ...{ runMs: 20_000, rateUlPerS: 450, boot: 'boot-1', startBeforeUptimeMs: 60_000, judgedAtMs: AT },
        ...{ totalRunMs: 1000, doubtMs: 30, status: 'unknown', sent: true, isFromBefore: true },
      },
    ])
  })

  it('keeps that a run was for a person, and does not take a ration for one', () => {
    expect(commandsOf(judged({ purpose: 'calibration' }))[0]).toMatchObject({ purpose: 'calibration' })
    expect(commandsOf(judged({ purpose: 'ration' }))[0]).not.toHaveProperty('purpose')
  })

  it('takes the rate of the limits where a record tells none, and that of the shot where they name no such stock', () => {
    const figures = { rateUlPerS: null }
    expect(commandsOf(judged({ figures }))[0]).toMatchObject({ rateUlPerS: 500, doubtMs: 0 })
    expect(commandsOf(judged({ figures, stock: 'gone', runMs: 40_000 }))[0]).toMatchObject({ rateUlPerS: 250 })
  })

  it('takes no word for a rate', () => {
    const figures = { rateUlPerS: 'fast', doubtMs: true }
    expect(commandsOf(judged({ figures }))[0]).toMatchObject({ rateUlPerS: 500, doubtMs: 0 })
  })

  it('keeps a command open that was called unknown, and closes it with what it delivered', () => {
    expect(commandsOf(judged(), settled({ outcome: 'unknown' }))).toEqual(commandsOf(judged()))
    const book = rebuildBook(LIMITS, [judged(), settled()], AT + MINUTE)
    expect(book.commands).toEqual([])
    expect(book.stocks['nitrate']?.rows).toEqual([{ commandId: 'c-1', endMs: AT, lowUl: 4000, highUl: 5000 }])
  })

  it('has nothing of a refused command, and a settled run that no command asked for', () => {
    expect(commandsOf(judged({ verdict: 'refuse' }))).toEqual([])
    const alone = rebuildBook(LIMITS, [settled({ commandId: 'no-command:1' })], AT + MINUTE)
    expect(alone.stocks['nitrate']?.rows).toHaveLength(1)
  })
})

describe('make-up water that is rebuilt from the figures of verdicts', () => {
  const limits = { ...LIMITS, meter: { id: 'meter-1', node: 'bench', maxLPerMin: 4 } }
  const at = (min: number, meterL: number | string | null) =>
    judged({ figures: { meterL, meterAtMs: AT + min * MINUTE } })

  it('is credited as one reading after the other would be', () => {
    const rows = [at(0, 7), settled(), at(1, 9), at(2, 10)]
    expect(rebuildMakeUp(limits, rows, AT + 2 * MINUTE)).toMatchObject({
      last: { counterL: 10, atMs: AT + 2 * MINUTE },
      sumL: 3,
    })
  })

  it('believes no time to come, no text, and nothing at a site without a meter', () => {
    const last = { counterL: 7, atMs: AT }
    expect(rebuildMakeUp(limits, [at(0, 7), at(2, 10)], AT + 2 * MINUTE - 1).last).toEqual(last)
    expect(rebuildMakeUp(limits, [at(0, 7), at(1, '9'), at(1, null)], AT + MINUTE).last).toEqual(last)
    const untimed = judged({ figures: { meterL: 9, meterAtMs: null } })
    expect(rebuildMakeUp(limits, [at(0, 7), untimed, judged({ figures: {} })], AT + MINUTE).last).toEqual(last)
    for (const rows of [[untimed], [at(0, null)]]) expect(rebuildMakeUp(limits, rows, AT).last).toBeNull()
    expect(rebuildMakeUp(LIMITS, [at(0, 7)], AT).last).toBeNull()
  })
})

describe('totalisers that are rebuilt from the records', () => {
  const pumpOf = (pump: string, ...rows: readonly (JudgedRow | SettledRow)[]) =>
    rebuildTotals(LIMITS, initialSafetyState(LIMITS), rows).nodes['bench']?.pumps[pump]

  it('stand as the last permitted verdict told them, with its doubt', () => {
    expect(pumpOf('pump-3', judged())).toMatchObject({ totalRunMs: 1000, doubtMs: 30, boot: null, uptimeMs: 0 })
  })

  it('stand as the last settled run told them, with no word of doubt', () => {
    const told = pumpOf('pump-3', judged(), settled({ totalRunMs: 21_000 }))
    expect(told).toMatchObject({ totalRunMs: 21_000, doubtMs: null })
  })

  it('are those of the pump that the verdict named, whatever pump the limits give that stock today', () => {
    const rows = [judged({ pump: 'pump-1' }), settled({ totalRunMs: 21_000 })]
    expect(pumpOf('pump-1', ...rows)).toMatchObject({ totalRunMs: 21_000 })
    expect(pumpOf('pump-3', ...rows)).toBeUndefined()
  })

  it('of a run that no command asked for are those of the stock’s pump', () => {
    expect(pumpOf('pump-3', settled({ commandId: 'no-command:1', totalRunMs: 700 }))).toMatchObject({ totalRunMs: 700 })
  })

  it('are not moved by a refusal, an unknown total, a stock or a node that no limit names', () => {
    const before = initialSafetyState(LIMITS)
    const rows = [
      judged({ verdict: 'refuse' }),
      settled(),
      settled({ stock: 'gone', commandId: 'c-9', totalRunMs: 700 }),
      judged({ node: 'gone' }),
    ]
    expect(rebuildTotals(LIMITS, before, rows)).toBe(before)
  })

  it('have no doubt where the verdict tells none as a number', () => {
    expect(pumpOf('pump-3', judged({ figures: { doubtMs: '30' } }))).toMatchObject({ doubtMs: null })
  })
})
