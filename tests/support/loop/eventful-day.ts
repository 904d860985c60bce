/** A day on an armed bench with everything a restart must not forget: shots, a report, acts, a hold, a lost report, a reboot. */

import type { Configuration } from '../../../src/config/configuration.ts'
import { HOUR_MS, LoopBench, MINUTE_MS } from './bench.ts'

export function eventfulDay(configuration: Configuration): LoopBench {
  const bench = new LoopBench(configuration)
  const sink = (hours: number): void => {
    for (let slice = 0; slice < hours * 12; slice++) {
      bench.shown['ec-1'] = bench.shown['ec-1']! - 0.0003
      bench.shown['meter-1'] = Math.round((bench.shown['meter-1']! + 0.05) * 100) / 100
      bench.minutes(5)
    }
  }
  bench.start()
  sink(4)
  const sampledAtMs = bench.nowMs - 2 * HOUR_MS - 7000
  bench.report({
    id: 'r1',
    sampledAtMs,
    values: [
      { element: 'K', mgPerL: 181 },
      { element: 'Ca', mgPerL: 139 },
    ],
  })
  sink(2)
  bench.instruct({ instruction: 'calibrate', probe: 'ph-1', slope: 1, offset: 0.05 })
  bench.act({ act: 'drained', doneAtMs: bench.nowMs - 9 * MINUTE_MS, volumeL: 15 })
  bench.areReportsLost = true
  sink(2)
  bench.areReportsLost = false
  while (!bench.state.safety.book.commands.some(({ status }) => status === 'open')) bench.minutes(1)
  bench.isNodeSilent = true
  sink(1)
  bench.isNodeSilent = false
  bench.reboot()
  sink(2)
  bench.instruct({ instruction: 'hold' }, 'the bench is being cleaned')
  sink(1)
  bench.instruct({ instruction: 'release' })
  bench.report({ id: 'r1', sampledAtMs, values: [{ element: 'K', mgPerL: 186 }] })
  bench.act({ act: 'harvested', doneAtMs: bench.nowMs, cohort: 'basil-1' })
  sink(2)
  bench.instruct({ instruction: 'pump-rate', stock: 'nitrate', rateMlPerMin: 27 })
  bench.instruct({ instruction: 'reset', trip: 'nothing-tripped' })
  sink(2)
  return bench
}
