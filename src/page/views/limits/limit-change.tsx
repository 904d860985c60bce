import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../../shell/api/schema/common.ts'
import type { Limit, LimitsPreview } from '../../../shell/api/schema/limits.ts'
import { tellMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'
import { Table } from '../../parts/table.tsx'

interface LimitChangeProps {
  readonly limit: Limit
  readonly isAllowed: boolean
  readonly onDone: () => void
}

/** The model of the bands takes up to half a minute here, longer on a small board. */
const MODEL_PATIENCE_MS = 180_000

/** Try another value on the recorded weeks, then, with a reason, put it in force. */
export function LimitChange({ limit, isAllowed, onDone }: LimitChangeProps): JSX.Element {
  const [value, setValue] = useState(String(limit.value))
  const gate = useTelling<LimitsPreview>()
  const whole = useTelling<LimitsPreview>()
  const tryIt = async (event: Event) => {
    event.preventDefault()
    whole.clear()
    const changes = [{ limit: limit.path, value: Number(value) }]
    // what is exact comes within seconds, and need not wait for the model
    const exact = await gate.run('/api/limits/preview', { changes, part: 'gate' })
    if (exact !== null) await whole.run('/api/limits/preview', { changes }, MODEL_PATIENCE_MS)
  }
  return (
    <div class="sheet">
      <form onSubmit={tryIt}>
        <Input label={limit.meaning} type="number" value={value} onValue={setValue} unit={limit.unit} />
        <Button type="submit" isOff={gate.isBusy || whole.isBusy}>
          {gate.isBusy || whole.isBusy ? 'Looking back…' : 'What would it have done?'}
        </Button>
      </form>
      <Failure lines={[...gate.failure, ...whole.failure]} />
      {gate.answer === null ? null : (
        <Preview preview={whole.answer ?? gate.answer} isModelComing={whole.isBusy || gate.isBusy} />
      )}
      {isAllowed ? <Confirm limit={limit} value={value} onDone={onDone} /> : null}
    </div>
  )
}

interface ConfirmProps {
  readonly limit: Limit
  readonly value: string
  readonly onDone: () => void
}

/** What stood on the screen goes along with the change: another person’s change meanwhile is seen first, not overwritten. */
function Confirm({ limit, value, onDone }: ConfirmProps): JSX.Element {
  const [reason, setReason] = useState('')
  const [was, setWas] = useState(limit.value)
  /** until the list has been read again after a change of one’s own, it shows the value of before */
  const [before, setBefore] = useState(limit.value)
  const change = useTelling<Taken>()
  const isOvertaken = limit.value !== was && limit.value !== before
  const confirm = async (event: Event) => {
    event.preventDefault()
    const body = { reason, limit: limit.path, value: Number(value), was }
    if ((await change.run('/api/limits', body)) === null) return onDone()
    setBefore(limit.value)
    setWas(Number(value))
    setReason('')
    onDone()
  }
  const look = () => {
    setWas(limit.value)
    setBefore(limit.value)
    change.clear()
  }
  return (
    <>
      {isOvertaken ? <Overtaken limit={limit} was={was} onSeen={look} /> : null}
      <form onSubmit={confirm}>
        <Input label="Reason" value={reason} onValue={setReason} hint="Kept in the records beside your name" />
        <Button
          type="submit"
          class="is-main"
          isOff={change.isBusy || isOvertaken || Number(value) === limit.value || value.trim() === ''}
        >
          Put {value} {limit.unit} in force
        </Button>
      </form>
      <Failure lines={change.failure} />
      {change.answer === null ? null : <Done>{change.answer.text ?? 'In force, and kept.'}</Done>}
    </>
  )
}

/** Somebody else was here first: what they did and why, before one’s own change can go on top of it. */
function Overtaken(props: { readonly limit: Limit; readonly was: number; readonly onSeen: () => void }): JSX.Element {
  const { value, unit, changed } = props.limit
  return (
    <div class="notice is-abnormal" role="alert">
      <p>
        ▲ {changed?.by ?? 'Somebody'} changed it from {props.was} to {value} {unit} while you looked
        {changed === undefined ? '' : `: ${changed.reason}`}. Nothing of yours is in force.
      </p>
      <button type="button" onClick={props.onSeen}>
        I have seen it; go on from {value} {unit}
      </button>
    </div>
  )
}

const SHOWN = 20

interface PreviewProps {
  readonly preview: LimitsPreview
  readonly isModelComing: boolean
}

function Preview({ preview, isModelComing }: PreviewProps): JSX.Element {
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
      {bands === undefined ? (
        <p class="quiet">{isModelComing ? 'Being worked out…' : 'No model could be made of this time.'}</p>
      ) : (
        <Bands bands={bands} />
      )}
    </>
  )
}

function Bands({ bands }: { readonly bands: NonNullable<LimitsPreview['bands']> }): JSX.Element {
  return (
    <>
      <p>{bands.text}</p>
      <Table
        rows={[{ element: 'N, P, K, Ca, Mg and S at once', ...bands.allSix }, ...bands.elements]}
        keyOf={({ element }) => element}
        columns={[
          { title: 'Element', tell: ({ element }) => element },
          { title: 'In band as it was', tell: ({ inBandWas }) => percent(inBandWas) },
          { title: 'as it might have been', tell: ({ inBandWouldBe }) => percent(inBandWouldBe) },
          { title: '90 % interval', tell: ({ low90, high90 }) => `${percent(low90)} to ${percent(high90)}` },
        ]}
      />
    </>
  )
}

function percent(share: number): string {
  return `${(share * 100).toFixed(0)} %`
}
