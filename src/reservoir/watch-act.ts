/** What the alarms’ watch makes of acts by hand and of settled shots; the same for new ones and for records. */

import { deliver, refill } from '../core/alarm/stock-book.ts'
import type { Act } from './input.ts'
import type { LedgerRecord } from './record.ts'
import type { Watch } from './state.ts'

/** Water let go or poured in by hand is no leak, so the watch on it begins anew; a refill begins a stock’s account. */
export function watchAct(watch: Watch, act: Act): Watch {
  switch (act.act) {
    case 'drained':
    case 'changed':
    case 'topped-up':
      return { ...watch, water: [] }
    case 'stock-refilled':
      return { ...watch, stocks: refill(watch.stocks, act.stock, act.volumeMl * 1000, act.doneAtMs) }
    default:
      return watch
  }
}

/** What a settled shot took from its bottle. */
export function watchSettled(watch: Watch, settled: Extract<LedgerRecord, { kind: 'settled' }>): Watch {
  const { commandId, stock, outcome, delivered } = settled
  const stocks = deliver(watch.stocks, { commandId, stock, highUl: delivered.highUl, isFinal: outcome !== 'unknown' })
  return stocks === watch.stocks ? watch : { ...watch, stocks }
}
