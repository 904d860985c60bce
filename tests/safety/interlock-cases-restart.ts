/** The interlock that keeps every pump still until all from before a restart is settled. */

import { restartedInMidShot, unreported } from './arrangement.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

export const RESTART_CASES: readonly InterlockCase[] = [
  holds('settled-since-start', 'a restart with nothing on its way', { arrange: (bench) => bench.start(2) }),
  holds('settled-since-start', 'another pump’s command that is not settled, while the daemon never stopped', {
    arrange: unreported,
    stock: 'calcium',
  }),
  refuses('settled-since-start', 'a command of another pump from before a restart, an hour later, its node silent', {
    arrange: restartedInMidShot,
    stock: 'calcium',
  }),
  refuses('settled-since-start', 'a command from before a restart, asked of a stock that no limit names', {
    arrange: restartedInMidShot,
    stock: 'magnesium',
  }),
  holds('settled-since-start', 'a stock that no limit names, with nothing on its way', {
    arrange: (bench) => bench.start(2),
    stock: 'magnesium',
  }),
  holds('settled-since-start', 'the same once its node’s totaliser has told', {
    arrange: (bench) => {
      restartedInMidShot(bench)
      bench.beat()
    },
  }),
  holds('settled-since-start', 'the same once a technician has closed it as delivered', {
    arrange: (bench) => {
      restartedInMidShot(bench)
      bench.instruct({ instruction: 'reset', trip: 'unsettled:c-1-1' })
    },
  }),
]
