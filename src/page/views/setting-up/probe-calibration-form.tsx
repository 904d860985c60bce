import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Commissioning, ProbeCalibration } from '../../../shell/api/schema/commissioning.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Input } from '../../parts/field.tsx'
import { Failure } from '../../parts/notice.tsx'
import { SayForm } from '../../parts/say-form.tsx'

interface ProbeCalibrationProps {
  readonly probe: Commissioning['probes'][number]
  readonly onDone: () => void
}

interface Point {
  readonly reference: string
  readonly shown: string
}

const KINDS = ['ph', 'conductivity', 'temperature', 'level', 'flow'] as const
const FIRST: Readonly<Record<string, readonly Point[]>> = {
  ph: [
    { reference: '7.00', shown: '' },
    { reference: '4.00', shown: '' },
  ],
  conductivity: [{ reference: '1.413', shown: '' }],
}

/** One or two points: what the standard is and what the probe shows in it; judged before it is taken. */
export function ProbeCalibrationForm({ probe, onDone }: ProbeCalibrationProps): JSX.Element {
  const kind = KINDS.find((name) => name === probe.role)
  const [points, setPoints] = useState<readonly Point[]>(FIRST[probe.role] ?? [{ reference: '', shown: '' }])
  const judging = useTelling<ProbeCalibration>()
  const change = (place: number, part: Partial<Point>) =>
    setPoints(points.map((point, at) => (at === place ? { ...point, ...part } : point)))
  const judge = async (event: Event) => {
    event.preventDefault()
    const read = points.map(({ reference, shown }) => ({ reference: Number(reference), shown: Number(shown) }))
    await judging.run('/api/commissioning/probe', { probe: probe.probe, kind, points: read })
  }
  if (kind === undefined) return <p>A {probe.role} probe has nothing to calibrate.</p>
  return (
    <>
      <form onSubmit={judge}>
        {points.map((point, place) => (
          <div class="fields" key={String(place)}>
            <Input
              label={kind === 'ph' ? `Buffer ${place + 1} is` : 'The standard is'}
              type="number"
              value={point.reference}
              onValue={(reference) => change(place, { reference })}
              unit={probe.unit}
            />
            <Input
              label="The probe shows, uncalibrated"
              type="number"
              value={point.shown}
              onValue={(shown) => change(place, { shown })}
              unit={probe.unit}
              hint={
                probe.value === undefined
                  ? 'No reading just now'
                  : `Now ${probe.value.toFixed(3)} with the calibration in force`
              }
            />
          </div>
        ))}
        <div class="actions">
          <Button type="submit" isOff={judging.isBusy}>
            Judge it
          </Button>
          {points.length < 2 ? (
            <button type="button" class="is-plain" onClick={() => setPoints([...points, { reference: '', shown: '' }])}>
              A second point
            </button>
          ) : null}
        </div>
      </form>
      <Failure lines={judging.failure} />
      {judging.answer === null ? null : (
        <SayForm
          instruction={{
            instruction: 'calibrate',
            probe: probe.probe,
            slope: judging.answer.slope,
            offset: judging.answer.offset,
          }}
          label={judging.answer.verdict === 'good' ? 'Take this calibration' : 'Set it all the same'}
          reason={`calibrated at ${points.length} ${points.length === 1 ? 'point' : 'points'}`}
          onDone={onDone}
        >
          <p class={judging.answer.verdict === 'good' ? '' : 'is-abnormal'}>
            {judging.answer.verdict === 'good' ? '✓' : '△'} {judging.answer.text}
          </p>
        </SayForm>
      )}
    </>
  )
}
