import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Diagnosis } from '../../../shell/api/schema/diagnosis.ts'
import { daemonNowMs } from '../../data/daemon-clock.ts'
import { tellDistance, tellMoment, tellSpan } from '../../data/moment.ts'
import { reasonsOf } from '../../data/problem.ts'
import { ask } from '../../data/request.ts'
import { useWords } from '../../data/words.ts'
import { Button } from '../../parts/button.tsx'
import { Failure } from '../../parts/notice.tsx'

/** Some hundred seasons of days are run again: seconds here, minutes on a small board. */
const PATIENCE_MS = 300_000

interface Search {
  readonly isBusy: boolean
  readonly found: Diagnosis | null
  readonly failure: readonly string[]
}

/** What no probe shows by itself: asked for by a person, since it takes a while and most days nothing is wrong. */
export function Causes(): JSX.Element {
  const [search, setSearch] = useState<Search>({ isBusy: false, found: null, failure: [] })
  const look = async () => {
    setSearch({ isBusy: true, found: null, failure: [] })
    try {
      const found = await ask<Diagnosis>('/api/diagnosis', PATIENCE_MS)
      setSearch({ isBusy: false, found, failure: [] })
    } catch (failure) {
      setSearch({ isBusy: false, found: null, failure: reasonsOf(failure) })
    }
  }
  return (
    <section aria-labelledby="causes-title">
      <h2 id="causes-title">What may have gone wrong unseen</h2>
      <p class="quiet">
        The days that are kept are run again as if each suspicion were true: a weak pump, another batch, a probe that
        walks, water nobody wrote down. What explains the readings best comes first. It changes nothing.
      </p>
      <Button isOff={search.isBusy} onClick={look}>
        {search.isBusy ? 'Looking…' : 'Look for causes'}
      </Button>
      <Failure lines={search.failure} />
      <div aria-live="polite">{search.found === null ? null : <Found found={search.found} />}</div>
    </section>
  )
}

function Found({ found }: { readonly found: Diagnosis }): JSX.Element {
  const nowMs = daemonNowMs()
  const words = useWords()
  const { text, period, nothingShare, explanations } = found
  return (
    <>
      <p>{words(text)}</p>
      <ol class="lines">
        {explanations.map(({ id, share, sinceMs, sentence, check }) => (
          <li key={id}>
            <p>
              <strong>{tellShare(share)}</strong> {words(sentence)} Since about {tellMoment(sinceMs, nowMs)}.
            </p>
            <p class="quiet">To find out: {words(check)}</p>
          </li>
        ))}
      </ol>
      {nothingShare === undefined ? null : <p>{tellShare(nothingShare)} Nothing out of the ordinary.</p>}
      {period === undefined ? null : (
        <p class="quiet">
          By the readings of {tellSpan(period.untilMs - period.fromMs)}, the last of them{' '}
          {tellDistance(period.untilMs, nowMs)}.
        </p>
      )}
    </>
  )
}

function tellShare(share: number): string {
  return `${Math.round(100 * share)} %:`
}
