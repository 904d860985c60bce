import { type Cancel, type Clock, repeat } from './clock.ts'

/** A wall that moves this far against the monotonic clock between two looks was set by somebody; chosen. */
export const JUMP_MS = 60_000
/** The loop never writes a stamp before the last one, so stamps may stand this little before a slewing wall; chosen. */
const BEHIND_TOLERANCE_MS = 2000
const LOOK_EVERY_MS = 10_000

export type ClockNews =
  /** the wall stepped by so much (negative: back) since the last look */
  | { readonly kind: 'jump'; readonly byMs: number; readonly text: string }
  /** told at the first look and at every change */
  | { readonly kind: 'sanity'; readonly sane: boolean; readonly text: string }

export interface ClockWatchOptions {
  readonly clock: Clock
  /** the stamp of the newest entry of the ledger, 0 for an empty one */
  readonly ledgerLastAtMs: () => number
  readonly onNews: (news: ClockNews) => void
  readonly everyMs?: number
}

/**
 * Holds the wall clock against the monotonic one and against the ledger, now and every 10 s.
 * A clock behind the ledger (no battery, no network yet) is not sane: rolling limits cannot be summed with it.
 */
export function watchClock(options: ClockWatchOptions): Cancel {
  const { clock, ledgerLastAtMs, onNews } = options
  let last = { wallMs: clock.wallMs(), monoMs: clock.monoMs() }
  let sane: boolean | undefined

  function look(): void {
    const now = { wallMs: clock.wallMs(), monoMs: clock.monoMs() }
    const byMs = Math.round(now.wallMs - last.wallMs - (now.monoMs - last.monoMs))
    last = now
    if (Math.abs(byMs) > JUMP_MS) onNews({ kind: 'jump', byMs, text: jumpText(byMs) })
    const behindMs = ledgerLastAtMs() - now.wallMs
    const saneNow = behindMs <= BEHIND_TOLERANCE_MS
    if (saneNow !== sane) onNews({ kind: 'sanity', sane: saneNow, text: sanityText(saneNow, behindMs) })
    sane = saneNow
  }

  look()
  return repeat(clock, options.everyMs ?? LOOK_EVERY_MS, look)
}

function jumpText(byMs: number): string {
  return `The machine’s clock was set ${byMs > 0 ? 'forward' : 'back'} by ${Math.round(Math.abs(byMs) / 1000)} s. Limits keep counting from the ledger.`
}

function sanityText(sane: boolean, behindMs: number): string {
  if (sane) return 'The machine’s clock is not behind the ledger.'
  const seconds = Math.round(behindMs / 1000)
  return `The machine’s clock is ${seconds} s behind the newest entry of the ledger: nothing is dosed until it is right. Set it, or connect it to a time server.`
}
