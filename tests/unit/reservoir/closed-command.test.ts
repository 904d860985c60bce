import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { recover } from '../../../src/reservoir/recover.ts'
import { initialReservoirState, type ReservoirState } from '../../../src/reservoir/state.ts'
import { LoopBench, recordsOf } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

let configuration: Configuration

beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

const commands = ({ safety }: ReservoirState) => safety.book.commands

/** A shot is on its way when the node goes and the daemon starts anew; half an hour later nobody knows. */
function lost(): LoopBench {
  const bench = new LoopBench(configuration)
  bench.start()
  for (let minute = 0; minute < 240 && commands(bench.state).length === 0; minute++) {
    bench.shown['ec-1'] = bench.shown['ec-1']! - 0.0001
    bench.minutes(1)
  }
  bench.isNodeSilent = true
  bench.start(2)
  bench.minutes(30)
  return bench
}

/** As a process finds it that died just now, from a snapshot taken at the entry `from`. */
function recovered(bench: LoopBench, snapshot: ReservoirState, from: number): ReservoirState {
  const deliveries = recordsOf(bench.log)
  return recover(bench.settings, { snapshot, since: recordsOf(bench.log.slice(from)), deliveries }, bench.nowMs)
}

describe('a command whose node never came back', () => {
  it('keeps the whole site still, says so as a standstill, and is closed by a technician on record', () => {
    const bench = lost()
    const [command] = commands(bench.state)
    expect(command).toMatchObject({ status: 'unknown', isFromBefore: true })
    expect(bench.state.standstill?.why).toContain(`what became of command ${command!.commandId}`)
    bench.instruct({ instruction: 'reset', trip: `unsettled:${command!.commandId}` }, 'burnt out')
    expect(commands(bench.state)).toEqual([])
    const records = recordsOf(bench.log.slice(-1))
    expect(records).toContainEqual(expect.objectContaining({ kind: 'instructed', by: 'Ines', reason: 'burnt out' }))
    expect(records).toContainEqual(
      expect.objectContaining({ kind: 'settled', delivered: { lowUl: 0, highUl: command!.volumeUl } }),
    )
  })

  it('is drawn from its bottle once, whatever snapshot a later start finds', () => {
    const bench = lost()
    const [before, at] = [bench.state, bench.log.length]
    bench.instruct({ instruction: 'reset', trip: `unsettled:${commands(before)[0]!.commandId}` }, 'burnt out')
    const { bottles } = bench.state.safety
    expect(bottles).not.toEqual(before.safety.bottles)
    for (const back of [
      recovered(bench, before, at),
      recovered(bench, initialReservoirState(bench.settings), 0),
      recovered(bench, bench.state, bench.log.length),
    ]) {
      expect(back.safety.bottles).toEqual(bottles)
      expect(commands(back)).toEqual([])
    }
  })
})
