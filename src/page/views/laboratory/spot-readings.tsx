import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../../shell/api/schema/common.ts'
import type { LaboratoryList, SpotReading } from '../../../shell/api/schema/laboratory.ts'
import { tellMoment } from '../../data/moment.ts'
import { tellNumber } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'

interface SpotReadingsProps {
  readonly spots: LaboratoryList['spots']
  readonly nowMs: number
  readonly onDone: () => void
}

const QUANTITIES = [
  { value: 'NO3-N', text: 'nitrate as nitrogen, mg/L' },
  { value: 'K', text: 'potassium, mg/L' },
  { value: 'Ca', text: 'calcium, mg/L' },
  { value: 'Na', text: 'sodium, mg/L' },
  { value: 'conductivity', text: 'EC, mS/cm' },
  { value: 'ph', text: 'pH' },
] as const
const SHOWN = 8

/** A handheld value of one’s own: taken on probation, until it has agreed with a laboratory. */
export function SpotReadings({ spots, nowMs, onDone }: SpotReadingsProps): JSX.Element {
  const [quantity, setQuantity] = useState<string>('NO3-N')
  const [value, setValue] = useState('')
  const [sd, setSd] = useState('')
  const telling = useTelling<Taken>()
  const submit = async (event: Event) => {
    event.preventDefault()
    const body: SpotReading = { quantity, value: Number(value), ...(sd === '' ? {} : { sd: Number(sd) }) }
    if ((await telling.run('/api/spot-reading', body)) !== null) onDone()
  }
  return (
    <section aria-labelledby="spot-title">
      <h2 id="spot-title">Spot reading</h2>
      <form onSubmit={submit}>
        <div class="fields">
          <Choice
            label="Of what"
            value={quantity}
            onValue={setQuantity}
            options={QUANTITIES}
            {...(quantity === 'NO3-N' ? { hint: 'Where the instrument shows the nitrate ion, times 0.226' } : {})}
          />
          <Input label="Value" type="number" min={0} value={value} onValue={setValue} />
          <Input
            label="Give or take"
            type="number"
            min={0}
            value={sd}
            onValue={setSd}
            isRequired={false}
            hint="Its own uncertainty, in the same unit; left out, a usual one is taken"
          />
        </div>
        <Button type="submit" isOff={telling.isBusy}>
          Give the reading
        </Button>
      </form>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : (
        <Done>
          {telling.answer.text ??
            'Taken, on probation: little is made of it until three of this kind have agreed with the laboratory.'}
        </Done>
      )}
      <ul class="lines">
        {spots.slice(0, SHOWN).map((spot) => (
          <li key={`${spot.atMs} ${spot.quantity}`}>
            <time>{tellMoment(spot.atMs, nowMs)}</time> {spot.quantity} {tellNumber(spot.value)} {spot.unit}
            {spot.sd === undefined ? '' : ` ± ${tellNumber(spot.sd)}`}, by {spot.by}
          </li>
        ))}
      </ul>
    </section>
  )
}
