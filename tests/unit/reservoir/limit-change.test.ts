import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { withLimits } from '../../../src/config/limit-path.ts'
import { reservoirSettings } from '../../../src/reservoir/configure-reservoir.ts'
import { settingsInForce } from '../../../src/reservoir/limit-change.ts'
import { recover } from '../../../src/reservoir/recover.ts'
import { initialReservoirState, type ReservoirState } from '../../../src/reservoir/state.ts'
import { effectsOf, LoopBench, recordsOf } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'
import { momentOfDose } from '../shell/moment.ts'

let file: Configuration
beforeAll(async () => {
  const lane = await quarryLane('automatic')
  const ceilings = { 'stocks.nitrate.shotMaxMl': 60, 'stocks.nitrate.gapMin': 3 }
  file = { ...lane, limits: { ...lane.limits, ceilings } as Configuration['limits'] }
})

const NITRATE = 'stocks.nitrate.shotMaxMl'

function started(): LoopBench {
  const bench = new LoopBench(file)
  bench.start()
  return bench
}

function change(bench: LoopBench, limit: string, value: number, was?: number): string {
  const instruction = { instruction: 'limit', limit, value, ...(was === undefined ? {} : { was }) } as const
  const effects = bench.give({ kind: 'instruction', atMs: bench.nowMs, by: 'Ines', reason: 'new tubes', instruction })
  return effects.flatMap((effect) => (effect.kind === 'notification' ? [effect.text] : [])).join(' ')
}

function shotMaxUl(bench: LoopBench, settings = bench.settings, state: ReservoirState = bench.state): number {
  const { limits } = settingsInForce(settings, state.changedLimits)
  return limits.stocks.find(({ stock }) => stock === 'nitrate')!.shotMaxUl
}

/** What a new process makes of the bench’s records, under this file or another. */
function restarted(bench: LoopBench, by = bench.settings): ReservoirState {
  const since = JSON.parse(JSON.stringify(recordsOf(bench.log)))
  return recover(by, { snapshot: initialReservoirState(by), since, deliveries: since }, bench.nowMs)
}

describe('a limit changed while the daemon runs', () => {
  it('is in force, and says who changed it, from what, and why', () => {
    const bench = started()
    expect(change(bench, NITRATE, 10)).toContain('from 40 to 10 (new tubes)')
    expect(shotMaxUl(bench)).toBe(10_000)
    expect(bench.state.changedLimits[NITRATE]).toMatchObject({ from: 40, by: 'Ines', reason: 'new tubes' })
  })

  it('that was tightened holds for the dose that the very same moment would have brought', () => {
    const { state, input } = momentOfDose(file)
    const dosed = (bench: LoopBench) =>
      effectsOf(bench).flatMap((effect) => (effect.kind === 'command' ? [effect.shot.stock] : []))
    const untold = new LoopBench(file, state)
    untold.give(input)
    const [stock] = dosed(untold)
    const bench = new LoopBench(file, state)
    bench.nowMs = input.atMs
    change(bench, `stocks.${stock}.dayMaxMl`, 0)
    bench.give(input)
    expect(stock).toBeDefined()
    expect(dosed(bench)).not.toContain(stock)
  })

  it('goes up to the ceiling of the file and not beyond, whichever way is looser', () => {
    const bench = started()
    change(bench, NITRATE, 60)
    expect(shotMaxUl(bench)).toBe(60_000)
    expect(change(bench, NITRATE, 60.1)).toContain('at most 60')
    expect(change(bench, 'stocks.nitrate.gapMin', 2)).toContain('at least 3')
    // no ceiling is stated for it, so its own value is one
    expect(change(bench, 'stocks.calcium.shotMaxMl', 41)).toContain('at most 40')
    expect(change(bench, 'acid.phFloor', 5.3)).toContain('at least 5.4')
    expect(shotMaxUl(bench)).toBe(60_000)
  })

  it('is refused where it is no number, no limit, or only a measure of what is there', () => {
    const bench = started()
    expect(change(bench, NITRATE, Number.NaN)).toContain('needs a number')
    expect(change(bench, 'stocks.nitrate.shotMin', 1)).toContain('has no limit')
    expect(change(bench, 'acid.strengthMeqPerMl', 0.5)).toContain('says what is there')
    expect(bench.state.changedLimits).toEqual({})
  })

  it('that somebody else changed meanwhile is left as it is, and tells who did', () => {
    const bench = started()
    change(bench, NITRATE, 10, 40)
    expect(change(bench, NITRATE, 20, 40)).toContain(
      'was 40 when you looked and is 10 now; Ines changed it (new tubes)',
    )
    expect(shotMaxUl(bench)).toBe(10_000)
  })

  it('outlives a restart', () => {
    const bench = started()
    change(bench, NITRATE, 10)
    expect(restarted(bench).changedLimits).toEqual(bench.state.changedLimits)
  })

  it('loosened beyond what an edited file allows is the file’s again; tightened, it stays', () => {
    const bench = started()
    change(bench, NITRATE, 60)
    const { ceilings: _gone, ...strict } = file.limits
    const edited = reservoirSettings({ ...file, limits: strict as Configuration['limits'] })
    expect(shotMaxUl(bench, edited, restarted(bench, edited))).toBe(40_000)
    change(bench, NITRATE, 15)
    expect(shotMaxUl(bench, edited, restarted(bench, edited))).toBe(15_000)
  })

  it('set back to the file’s value follows the file from then on', () => {
    const bench = started()
    change(bench, NITRATE, 10)
    change(bench, NITRATE, 40)
    const edited = reservoirSettings({ ...file, limits: withLimits(file.limits, { [NITRATE]: 50 }) })
    expect(shotMaxUl(bench, edited, restarted(bench, edited))).toBe(50_000)
  })
})
