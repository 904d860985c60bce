/** One wish before the gate: its verdict is recorded with every figure, and told; a command goes out where it permits. */

import { judge } from '../safety/judge.ts'
import type { ShotWish } from '../safety/types.ts'
import { commandIdOf } from './command-id.ts'
import type { Effect } from './effect.ts'
import type { LedgerRecord } from './record.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/**
 * Asks safety for one shot now.
 *
 * @param told what people are told of it, before the volume; '' where it needs no word
 * @returns `why` as one sentence where it was refused
 */
export function askSafety(
  settings: ReservoirSettings,
  state: ReservoirState,
  wish: ShotWish,
  told: string,
  effects: Effect[],
): { readonly state: ReservoirState; readonly why?: string } {
  const { controller, term } = state.safety
  const commandId = commandIdOf(controller, term, state.commandCount + 1)
  const judged = judge(settings.limits, state.safety, wish, state.atMs, commandId)
  const after = { ...state, safety: judged.state, commandCount: state.commandCount + 1 }
  effects.push({ kind: 'record', record: verdictRecord(settings, state, judged, wish, commandId) })
  const { verdict } = judged
  const volume = `${(wish.volumeUl / 1000).toFixed(2)} mL of ${wish.stock}`
  if (verdict.kind === 'permit') {
    effects.push({ kind: 'command', shot: verdict.shot })
    effects.push({
      kind: 'notification',
      event: 'permitted',
      text: `${told}${volume} permitted, command ${commandId}`,
    })
    return { state: after }
  }
  const why = verdict.why.map((row) => row.sentence).join('; ')
  effects.push({ kind: 'notification', event: 'refused', text: `Refused ${volume}: ${why}` })
  return { state: after, why }
}

function verdictRecord(
  settings: ReservoirSettings,
  state: ReservoirState,
  judged: ReturnType<typeof judge>,
  wish: ShotWish,
  commandId: string,
): LedgerRecord {
  const { verdict } = judged
  const stock = settings.limits.stocks.find((candidate) => candidate.stock === wish.stock)
  const shot = verdict.kind === 'permit' ? verdict.shot : undefined
  const open = judged.state.book.commands.find((command) => command.commandId === commandId)
  const refused = verdict.kind === 'refuse' ? verdict.why : []
  return {
    kind: 'judged',
    atMs: state.atMs,
    verdict: verdict.kind,
    commandId,
    ...wish,
    node: stock?.node ?? '',
    pump: stock?.pump ?? '',
    runMs: shot?.runMs ?? 0,
    boot: shot?.boot ?? '',
    startBeforeUptimeMs: shot?.startBeforeUptimeMs ?? 0,
    term: shot?.term ?? 0,
    totalRunMs: open?.totalRunMs ?? 0,
    figures: verdict.figures,
    why: refused.map((row) => row.interlock),
    ...(refused.length === 0 ? {} : { found: refused.map((row) => row.sentence) }),
  }
}
