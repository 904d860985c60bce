import type { JSX } from 'preact'
import { daemonNowMs } from '../../data/daemon-clock.ts'
import { useLive } from '../../data/live.ts'
import { tellMoment } from '../../data/moment.ts'
import { Failure } from '../../parts/notice.tsx'

interface Acts {
  readonly acts: readonly {
    readonly atMs: number
    readonly doneAtMs?: number
    readonly by: string
    readonly name: string
    readonly text: string
    readonly reason?: string
  }[]
}

const DAY_MS = 86_400_000
const DAYS = 30
const ROUND_MS = 600_000

/** What people did and said lately, each with who and why. */
export function ActList(): JSX.Element {
  const from = Math.floor((daemonNowMs() - DAYS * DAY_MS) / ROUND_MS) * ROUND_MS
  const { value, failure, loadedAtMs } = useLive<Acts>(`/api/acts?from=${from}&limit=100`)
  return (
    <details>
      <summary>What people did and said in the last {DAYS} days</summary>
      <Failure lines={failure} />
      <ul class="lines">
        {value?.acts.map(({ atMs, doneAtMs, by, name, text, reason }) => (
          <li key={`${atMs} ${name} ${text}`}>
            <time>{tellMoment(doneAtMs ?? atMs, loadedAtMs)}</time> {text} <span class="quiet">by {by}</span>
            {reason === undefined ? null : <p class="quiet">{reason}</p>}
          </li>
        ))}
      </ul>
    </details>
  )
}
