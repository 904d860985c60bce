import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../../shell/api/schema/common.ts'
import type { Limit, LimitsPreview } from '../../../shell/api/schema/limits.ts'
import { tellMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'

interface LimitChangeProps {
  readonly limit: Limit
  readonly isAllowed: boolean
  readonly onDone: () => void
}

/** Try another value on the recorded weeks, then, with a reason, put it in force. */
export function LimitChange({ limit, isAllowed, onDone }: LimitChangeProps): JSX.Element {
  const [value, setValue] = useState(String(limit.value))
  const [reason, setReason] = useState('')
  // What stood on the screen when this was opened: another person’s change meanwhile is a conflict, not overwritten.
  const [was] = useState(limit.value)
  const preview = useTelling<LimitsPreview>()
  const change = useTelling<Taken>()
  const tryIt = async (event: Event) => {
    event.preventDefault()
    await preview.run('/api/limits/preview', { changes: [{ limit: limit.path, value: Number(value) }] })
  }
  const confirm = async (event: Event) => {
    event.preventDefault()
    const body = { reason, limit: limit.path, value: Number(value), was }
    if ((await change.run('/api/limits', body)) !== null) onDone()
  }
  return (
    <div class="sheet">
      <form onSubmit={tryIt}>
        <Input label={limit.meaning} type="number" value={value} onValue={setValue} unit={limit.unit} />
        <button type="submit" disabled={preview.isBusy}>
          {preview.isBusy ? 'Looking back…' : 'What would it have done?'}
        </button>
      </form>
      <Failure lines={preview.failure} />
      {preview.answer === null ? null : <Preview preview={preview.answer} />}
      {isAllowed ? (
        <form onSubmit={confirm}>
          <Input label="Reason" value={reason} onValue={setReason} hint="Kept in the records beside your name" />
          <button type="submit" class="is-main" disabled={change.isBusy || Number(value) === limit.value}>
            Put {value} {limit.unit} in force
          </button>
        </form>
      ) : null}
      <Failure lines={change.failure} />
      {change.answer === null ? null : <Done>{change.answer.text ?? 'In force, and kept.'}</Done>}
    </div>
  )
}

const SHOWN = 20

function Preview({ preview }: { readonly preview: LimitsPreview }): JSX.Element {
  const { gate, bands } = preview
  return (
    <>
      <h3>What the gate would have done (exact)</h3>
      <p>{gate.text}</p>
      <ul class="lines">
        {gate.changedVerdicts.slice(0, SHOWN).map(({ atMs, commandId, stock, volumeMl, wouldBe, why }) => (
          <li key={commandId}>
            <time>{tellMoment(atMs, preview.to)}</time> {volumeMl.toFixed(1)} mL {stock} would have been{' '}
            {wouldBe === 'permit' ? 'permitted' : 'refused'}
            {why.length === 0 ? '' : `: ${why.join('; ')}`}
          </li>
        ))}
      </ul>
      {gate.changedVerdicts.length > SHOWN ? <p class="quiet">and {gate.changedVerdicts.length - SHOWN} more</p> : null}
      <h3>How the bands might have gone (a model)</h3>
      {bands === undefined ? <p class="quiet">No model could be made of this time.</p> : <Bands bands={bands} />}
    </>
  )
}

function Bands({ bands }: { readonly bands: NonNullable<LimitsPreview['bands']> }): JSX.Element {
  return (
    <>
      <p>{bands.text}</p>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">Element</th>
              <th scope="col">In band as it was</th>
              <th scope="col">as it might have been</th>
              <th scope="col">90 % interval</th>
            </tr>
          </thead>
          <tbody>
            {bands.elements.map(({ element, inBandWas, inBandWouldBe, low90, high90 }) => (
              <tr key={element}>
                <th scope="row">{element}</th>
                <td>{percent(inBandWas)}</td>
                <td>{percent(inBandWouldBe)}</td>
                <td>
                  {percent(low90)} to {percent(high90)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}

function percent(share: number): string {
  return `${(share * 100).toFixed(0)} %`
}
