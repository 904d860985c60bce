import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { tellNumber } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice } from '../../parts/field.tsx'
import { Failure } from '../../parts/notice.tsx'
import type { DeskProps } from '../desk-view.tsx'
import type { WaterAnswer } from './answers.ts'
import { WaterChoice, type WaterGiven } from './water-choice.tsx'

const LEVELS = {
  good: '✓ use',
  watch: '△ watch',
  treat: '▲ treat',
  refuse: '✕ refuse',
  unknown: '? not measured',
} as const

/** A verdict on a water for a crop, criterion by criterion. */
export function WaterDesk({ choices }: DeskProps): JSX.Element {
  const [water, setWater] = useState<WaterGiven>(choices.waters[0]?.id ?? '')
  const [crop, setCrop] = useState(choices.crops[0]?.id ?? '')
  const telling = useTelling<WaterAnswer>()
  const submit = async (event: Event) => {
    event.preventDefault()
    await telling.run('/api/desk/water', { water, crop })
  }
  return (
    <section aria-labelledby="water-title">
      <h2 id="water-title">Judge a water</h2>
      <form onSubmit={submit}>
        <div class="fields">
          <WaterChoice choices={choices} value={water} onValue={setWater} />
          <Choice label="Crop" value={crop} onValue={setCrop} options={cropOptions(choices)} />
        </div>
        <Button type="submit" class="is-main" isOff={telling.isBusy}>
          Judge it
        </Button>
      </form>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : <Verdict answer={telling.answer} />}
    </section>
  )
}

export function cropOptions(choices: DeskProps['choices']): readonly { value: string; text: string }[] {
  return choices.crops.map(({ id, name }) => ({ value: id, text: name }))
}

function Verdict({ answer }: { readonly answer: WaterAnswer }): JSX.Element {
  return (
    <>
      <p class="sentence">{answer.sentence}</p>
      {answer.doubts.map((doubt) => (
        <p key={doubt} class="is-abnormal">
          △ {doubt}
        </p>
      ))}
      <ul class="lines">
        {answer.criteria.map(({ name, figure, unit, level, meaning, remedies }) => (
          <li key={name}>
            <span class={level === 'treat' || level === 'refuse' ? 'is-abnormal' : ''}>{LEVELS[level]}</span>{' '}
            <strong>{name}</strong> {figure === undefined ? '' : `${tellNumber(figure)} ${unit}`}
            <p>{meaning}</p>
            {remedies.map((remedy) => (
              <p key={remedy} class="quiet">
                {remedy}
              </p>
            ))}
          </li>
        ))}
      </ul>
      {answer.acids.length === 0 ? null : <h3>Acid for 1000 L</h3>}
      <ul class="lines">
        {answer.acids.map(({ acid, mlPer1000L, brings, isWithinBand }) => (
          <li key={acid}>
            {mlPer1000L.toFixed(0)} mL of {acid}, which brings {tellNumber(brings.mgPerL)} mg/L {brings.element}
            {isWithinBand ? '' : ' (△ more than the crop’s band leaves room for)'}
          </li>
        ))}
      </ul>
      {answer.notMeasured.length === 0 ? null : <p class="quiet">Not measured: {answer.notMeasured.join(', ')}.</p>}
    </>
  )
}
