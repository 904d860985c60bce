import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { textOfReport } from '../../../shell/api/schema/report-bytes.ts'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber, tellVolume } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Field, Input } from '../../parts/field.tsx'
import { Failure } from '../../parts/notice.tsx'
import type { DeskProps } from '../desk-view.tsx'
import type { AmendAnswer, AmendOption } from './answers.ts'
import { DeskElements } from './desk-elements.tsx'
import { Cautions } from './stocks-desk.tsx'
import { cropOptions } from './water-desk.tsx'

const WAYS: Readonly<Record<AmendOption['way'], string>> = {
  'amend-only': 'Add salts only',
  'renew-and-amend': 'Renew part, then add',
  'start-afresh': 'Start afresh',
}

/** From a used reservoir’s report to what must be weighed in, renewed or thrown away. */
export function AmendDesk({ choices }: DeskProps): JSX.Element {
  const preferences = usePreferences()
  const [file, setFile] = useState<{ fileName: string; text: string } | null>(null)
  const [volume, setVolume] = useState(preferences.volume === 'L' ? '220' : '58')
  const [crop, setCrop] = useState(choices.crops[0]?.id ?? '')
  const telling = useTelling<AmendAnswer>()
  const choose = async (chosen: File | undefined) => {
    if (chosen !== undefined) setFile({ fileName: chosen.name, text: textOfReport(await chosen.arrayBuffer()) })
  }
  const submit = async (event: Event) => {
    event.preventDefault()
    await telling.run('/api/desk/amend', { laboratory: file, volume: `${volume}${preferences.volume}`, crop })
  }
  return (
    <section aria-labelledby="amend-title">
      <h2 id="amend-title">Amend a used solution</h2>
      <form onSubmit={submit}>
        <div class="fields">
          <Field label="Report of the reservoir">
            {(id) => (
              <input
                id={id}
                type="file"
                accept=".csv,.json,.txt"
                required
                onChange={(event) => choose(event.currentTarget.files?.[0])}
              />
            )}
          </Field>
          <Input label="Volume" type="number" value={volume} onValue={setVolume} unit={preferences.volume} />
          <Choice label="Crop" value={crop} onValue={setCrop} options={cropOptions(choices)} />
        </div>
        <Button type="submit" class="is-main" isOff={telling.isBusy || file === null}>
          What must be done?
        </Button>
      </form>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : <Amendment answer={telling.answer} />}
    </section>
  )
}

function Amendment({ answer }: { readonly answer: AmendAnswer }): JSX.Element {
  if (answer.kind === 'held') {
    return (
      <div class="notice is-abnormal" role="alert">
        {[answer.why, ...answer.explanations].map((line) => (
          <p key={line}>△ {line}</p>
        ))}
      </div>
    )
  }
  return (
    <>
      <p class="sentence">{answer.advice}</p>
      <div class="columns">
        <ul class="lines">
          {answer.options.map((option) => (
            <Option key={option.way} option={option} isAdvised={option.way === answer.advised} />
          ))}
        </ul>
        <div>
          <h3>Where it ends, {usePreferences().concentration}</h3>
          <DeskElements elements={answer.notes.map((note) => ({ ...note, mgPerL: note.endMgPerL }))} />
        </div>
      </div>
      <Cautions lines={answer.cautions} />
    </>
  )
}

function Option({ option, isAdvised }: { readonly option: AmendOption; readonly isAdvised: boolean }): JSX.Element {
  const preferences = usePreferences()
  return (
    <li>
      <h3>
        {isAdvised ? '✓ ' : ''}
        {WAYS[option.way]}
        {isAdvised ? ' (advised)' : ''}
      </h3>
      <ul>
        {option.amounts.map(({ name, measured, unit }) => (
          <li key={name}>
            {tellNumber(measured)} {unit} {name}
          </li>
        ))}
      </ul>
      <p class="quiet">
        {tellVolume(option.waterL, preferences)} of water in, {tellVolume(option.dischargeL, preferences)} let go
      </p>
      {option.outOfBand.map(({ element, why }) => (
        <p key={element} class="is-abnormal">
          △ {element}: {why}
        </p>
      ))}
    </li>
  )
}
