import type { JSX } from 'preact'
import { useId, useState } from 'preact/hooks'
import type { Commissioning, PumpRun } from '../../../shell/api/schema/commissioning.ts'
import type { Doses } from '../../../shell/api/schema/dose.ts'
import { useLive } from '../../data/live.ts'
import { useMe } from '../../data/session.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'

interface PumpRunProps {
  readonly pump: Commissioning['pumps'][number]
  readonly mode: Commissioning['mode']
  readonly seconds: string
  readonly onSeconds: (seconds: string) => void
  /** how long it runs in truth */
  readonly onRan: (runMs: number) => void
}

/** One run of a pump into a measuring glass, through the gate; what it refuses it says, and a hold stops it. */
export function PumpRunForm({ pump, mode, seconds, onSeconds, onRan }: PumpRunProps): JSX.Element {
  const { may } = useMe()
  const [withWater, setWithWater] = useState(true)
  const running = useTelling<PumpRun>()
  const start = async (event: Event) => {
    event.preventDefault()
    const runMs = Math.round(Number(seconds) * 1000)
    const body = { reason: 'to measure or to try the pump', stock: pump.stock, runMs, withWater }
    const answer = await running.run('/api/commissioning/pump-run', body)
    if (answer !== null) onRan(answer.runMs)
  }
  const hindrance = hindranceOf(pump, mode, may('technician'))
  return (
    <form onSubmit={start}>
      <div class="fields">
        <Input
          label="Run for"
          type="number"
          min={0.1}
          max={120}
          value={seconds}
          onValue={onSeconds}
          unit="s"
          hint={capHint(pump)}
        />
        <Inlet withWater={withWater} onWater={setWithWater} />
      </div>
      <Button type="submit" isOff={running.isBusy || hindrance !== undefined}>
        Run it
      </Button>
      {hindrance === undefined ? null : <p class="quiet">{hindrance}</p>}
      <Failure lines={running.failure} />
      {running.answer === null ? null : <Outcome run={running.answer} />}
    </form>
  )
}

function Inlet({ withWater, onWater }: { readonly withWater: boolean; readonly onWater: (is: boolean) => void }) {
  const id = useId()
  return (
    <div class="field">
      <div class="field-line">
        <input id={id} type="checkbox" checked={withWater} onChange={(event) => onWater(event.currentTarget.checked)} />
        <label for={id}>The inlet hangs in plain water</label>
      </div>
    </div>
  )
}

/** The first thing that stands in the way and can be seen from here; the gate says the rest. */
function hindranceOf(
  { runs, online, stock, node }: Commissioning['pumps'][number],
  mode: Commissioning['mode'],
  isTechnician: boolean,
): string | undefined {
  if (!isTechnician)
    return 'A technician may run it: sign in under Records. What it gave can be typed below all the same.'
  if (runs === undefined)
    return `The limits file allows no such run: give stocks.${stock}.calibration a runMaxMl and a dayMaxMl.`
  if (mode !== 'observe') return `Lower the mode to observe first, so that nothing is dosed meanwhile; it is ${mode}.`
  if (!online) return `Node ${node} is not heard; look at its power and network.`
  return undefined
}

function capHint({ runs, rateMlPerMin }: Commissioning['pumps'][number]): string {
  if (runs === undefined) return 'The limits allow no run'
  const mostS = Math.floor((runs.runMaxMl / rateMlPerMin) * 60)
  return `Up to ${runs.runMaxMl} mL a run, ${mostS} s at the rate in force; ${runs.dayLeftMl.toFixed(0)} mL left today`
}

const OUTCOMES: Readonly<Record<string, string>> = {
  open: 'Running, or about to. Hold, at the top, stops it.',
  done: '✓ Ran to its end. Read the glass and type what came.',
  stopped: '△ Stopped on the way. Do not use this run; look at the hold and the node.',
  refused: '✕ The node refused it. Try again; if it stays so, the Doses view has its reason.',
  'not-sent': '✕ Not sent: the link was down. Nothing ran.',
  unknown: '▲ Nobody knows what ran; it counts in full. Look at the node.',
}

/** What becomes of it, as the node tells. */
function Outcome({ run }: { readonly run: PumpRun }): JSX.Element {
  const doses = useLive<Doses>('/api/doses?limit=20')
  const shot = doses.value?.shots.find(({ commandId }) => commandId === run.commandId)
  return (
    <Done>
      {(run.runMs / 1000).toFixed(1)} s, about {run.expectedMl.toFixed(1)} mL at the rate in force.{' '}
      {OUTCOMES[shot?.outcome ?? 'open']}
    </Done>
  )
}
