import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Commissioning, PumpRate } from '../../../shell/api/schema/commissioning.ts'
import { useTelling } from '../../data/telling.ts'
import { Input } from '../../parts/field.tsx'
import { Caution, Done, Failure } from '../../parts/notice.tsx'
import { SayForm } from '../../parts/say-form.tsx'

interface PumpCalibrationProps {
  readonly pump: Commissioning['pumps'][number]
  readonly onDone: () => void
}

interface Run {
  readonly runMs: number
  readonly volumeMl: number
}

/** Run for a time, type what came, repeat, see the scatter, take the rate. */
export function PumpCalibrationForm({ pump, onDone }: PumpCalibrationProps): JSX.Element {
  const [seconds, setSeconds] = useState('20')
  const [volume, setVolume] = useState('')
  const [runs, setRuns] = useState<readonly Run[]>([])
  const running = useTelling<{ readonly expectedMl: number }>()
  const rating = useTelling<PumpRate>()
  const runMs = Math.round(Number(seconds) * 1000)
  const start = async (event: Event) => {
    event.preventDefault()
    const reason = 'calibration of the pump'
    await running.run('/api/commissioning/pump-run', { reason, stock: pump.stock, runMs, withWater: true })
  }
  const add = async (event: Event) => {
    event.preventDefault()
    const all = [...runs, { runMs, volumeMl: Number(volume) }]
    setRuns(all)
    setVolume('')
    running.clear()
    await rating.run('/api/commissioning/pump-rate', { stock: pump.stock, runs: all })
  }
  return (
    <>
      <Caution>
        Put the inlet into plain water{pump.isAcid ? ', never into acid, and rinse the tube first' : ''}, and the outlet
        into a measuring glass, not into the reservoir. Gloves and goggles where concentrates were in the tube.
      </Caution>
      <form onSubmit={start}>
        <Input label="Run for" type="number" min={0.1} max={120} value={seconds} onValue={setSeconds} unit="s" />
        <button type="submit" disabled={running.isBusy || !pump.online}>
          Run it
        </button>
        <Failure lines={running.failure} />
        {running.answer === null ? null : (
          <Done>On its way; about {running.answer.expectedMl.toFixed(1)} mL should come at the rate in force.</Done>
        )}
      </form>
      <form onSubmit={add}>
        <Input label="Volume that came" type="number" min={0} value={volume} onValue={setVolume} unit="mL" />
        <button type="submit">Add this run</button>
      </form>
      <Failure lines={rating.failure} />
      {runs.length === 0 ? null : (
        <p class="quiet">Runs so far: {runs.map((run) => `${run.volumeMl} mL in ${run.runMs / 1000} s`).join('; ')}</p>
      )}
      {rating.answer === null ? null : (
        <SayForm
          instruction={{ instruction: 'pump-rate', stock: pump.stock, rateMlPerMin: rating.answer.rateMlPerMin }}
          label={`Take ${rating.answer.rateMlPerMin.toFixed(2)} mL/min`}
          reason={`measured in ${runs.length} runs`}
          onDone={onDone}
        >
          <p class={rating.answer.verdict === 'good' ? '' : 'is-abnormal'}>
            {rating.answer.verdict === 'good' ? '✓' : '△'} {rating.answer.text}
          </p>
        </SayForm>
      )}
    </>
  )
}
