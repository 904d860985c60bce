import type { JSX } from 'preact'
import type { SampleMoment } from '../../../shell/api/schema/laboratory.ts'
import { useLive } from '../../data/live.ts'
import { tellMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Done, Failure } from '../../parts/notice.tsx'

/** Stamps the time of a bottle, and says whether now is a good moment to fill one. */
export function SampleDrawn({ onDone }: { readonly onDone: () => void }): JSX.Element {
  const { value: moment } = useLive<SampleMoment>('/api/laboratory/moment')
  const telling = useTelling<{ readonly atMs: number }>()
  const stamp = async () => {
    if ((await telling.run('/api/laboratory/drawn', {})) !== null) onDone()
  }
  return (
    <section aria-labelledby="drawn-title">
      <h2 id="drawn-title">Draw a sample</h2>
      <p class={moment !== null && !moment.isGood ? 'is-abnormal' : ''}>
        {moment === null ? 'Asking whether now is a good moment…' : `${moment.isGood ? '✓' : '✕'} ${moment.text}`}
      </p>
      <ul class="lines">
        {moment?.checks.map(({ check, ok, text }) => (
          <li key={check}>
            {ok ? '✓' : '✕'} {text}
          </li>
        ))}
      </ul>
      <div class="actions">
        <Button class="is-main" isOff={telling.isBusy} onClick={stamp}>
          Sample drawn now
        </Button>
        <span class="quiet">Fill the bottle from the returning stream, full to the rim, and keep it cold.</span>
      </div>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : (
        <Done>
          Stamped {tellMoment(telling.answer.atMs, telling.answer.atMs)}. Write this time on the bottle; the report will
          be taken for this moment.
        </Done>
      )}
    </section>
  )
}
