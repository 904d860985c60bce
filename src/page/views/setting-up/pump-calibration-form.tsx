import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Commissioning, PumpRate } from '../../../shell/api/schema/commissioning.ts'
import { useTelling } from '../../data/telling.ts'
import { Input } from '../../parts/field.tsx'
import { Caution, Failure } from '../../parts/notice.tsx'
import { SayForm } from '../../parts/say-form.tsx'
import { Table } from '../../parts/table.tsx'
import { PumpRunForm } from './pump-run-form.tsx'

interface PumpCalibrationProps {
  readonly pump: Commissioning['pumps'][number]
  readonly mode: Commissioning['mode']
  readonly onDone: () => void
}

interface Run {
  readonly runMs: number
  readonly volumeMl: number
}

const SECONDS_FIRST = 20

/** A run that the cap allows at the rate in force, and no longer than it takes to read a glass well. */
function firstSeconds({ runs, rateMlPerMin }: Commissioning['pumps'][number]): string {
  if (runs === undefined) return String(SECONDS_FIRST)
  return String(Math.min(SECONDS_FIRST, Math.floor((runs.runMaxMl / rateMlPerMin) * 60)))
}

/** Run for a time, type what came, repeat, see the scatter, take the rate. */
export function PumpCalibrationForm({ pump, mode, onDone }: PumpCalibrationProps): JSX.Element {
  const [seconds, setSeconds] = useState(firstSeconds(pump))
  /** of the last run from here: the daemon may have run it a little shorter than asked */
  const [ranMs, setRanMs] = useState<number | null>(null)
  const [volume, setVolume] = useState('')
  const [runs, setRuns] = useState<readonly Run[]>([])
  const rating = useTelling<PumpRate>()
  const add = async (event: Event) => {
    event.preventDefault()
    const runMs = ranMs ?? Math.round(Number(seconds) * 1000)
    const all = [...runs, { runMs, volumeMl: Number(volume) }]
    setRuns(all)
    setVolume('')
    await rating.run('/api/commissioning/pump-rate', { stock: pump.stock, runs: all })
  }
  const change = (typed: string) => {
    setSeconds(typed)
    setRanMs(null)
  }
  return (
    <>
      <Caution>
        Put the inlet into plain water{pump.isAcid ? ', never into acid, and rinse the tube first' : ''}, and the outlet
        into a measuring glass, not into the reservoir. Gloves and goggles where concentrates were in the tube.
      </Caution>
      <PumpRunForm pump={pump} mode={mode} seconds={seconds} onSeconds={change} onRan={setRanMs} />
      <form onSubmit={add}>
        <Input
          label="Volume that came"
          type="number"
          min={0}
          value={volume}
          onValue={setVolume}
          unit="mL"
          hint={`In ${((ranMs ?? Number(seconds) * 1000) / 1000).toFixed(1)} s`}
        />
        <button type="submit">Add this run</button>
      </form>
      <Failure lines={rating.failure} />
      <Runs runs={runs} />
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

/** Each run with the rate it says, so that one that was read wrongly stands out. */
function Runs({ runs }: { readonly runs: readonly Run[] }): JSX.Element | null {
  if (runs.length === 0) return null
  return (
    <Table
      caption="Runs so far"
      rows={runs}
      keyOf={(_run, at) => String(at)}
      columns={[
        { title: 'Run', tell: (_run, at) => at + 1 },
        { title: 'Ran', tell: ({ runMs }) => `${(runMs / 1000).toFixed(1)} s` },
        { title: 'Came', tell: ({ volumeMl }) => `${volumeMl} mL` },
        { title: 'Rate', tell: ({ runMs, volumeMl }) => `${((volumeMl / runMs) * 60_000).toFixed(2)} mL/min` },
      ]}
    />
  )
}
