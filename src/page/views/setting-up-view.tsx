/** Setting up: the way from a new site to one that doses by itself, with what is still missing named. */

import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Commissioning } from '../../shell/api/schema/commissioning.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import { usePreferences } from '../data/preferences.ts'
import { tellReading } from '../data/quantity.ts'
import { Choice } from '../parts/field.tsx'
import { Failure } from '../parts/notice.tsx'
import { SayForm, Unfold } from '../parts/say-form.tsx'
import { SignInFirst } from '../parts/sign-in-first.tsx'
import { ProbeCalibrationForm } from './setting-up/probe-calibration-form.tsx'
import { PumpCalibrationForm } from './setting-up/pump-calibration-form.tsx'

const MODES = {
  observe: 'observe: looks on, doses nothing',
  advise: 'advise: proposes, a person approves',
  automatic: 'automatic: doses by itself, inside the limits',
} as const

type ModeName = keyof typeof MODES

export function SettingUpView(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Commissioning>('/api/commissioning')
  const preferences = usePreferences()
  if (value === null) return <Failure lines={failure} />
  return (
    <>
      <SignInFirst as="technician" to="calibrate or to raise the mode" />
      <div class="columns">
        <ModeSteps value={value} onDone={reload} />
        <div>
          <section aria-labelledby="pumps-title">
            <h2 id="pumps-title">Pumps</h2>
            <ul class="lines">
              {value.pumps.map((pump) => (
                <li key={pump.stock}>
                  <p>
                    {pump.stock}: {pump.pump} of node {pump.node}, {pump.rateMlPerMin.toFixed(1)} mL/min{' '}
                    <span class="quiet">
                      {pump.measuredAtMs === undefined
                        ? 'as configured, never measured'
                        : `measured ${tellMoment(pump.measuredAtMs, loadedAtMs)} by ${pump.by ?? 'somebody'}`}
                      {pump.online ? '' : '; ✕ its node is not heard'}
                    </span>
                  </p>
                  <Unfold label="Calibrate it">
                    <PumpCalibrationForm pump={pump} mode={value.mode} onDone={reload} />
                  </Unfold>
                </li>
              ))}
            </ul>
          </section>
          <section aria-labelledby="probes-title">
            <h2 id="probes-title">Probes</h2>
            <ul class="lines">
              {value.probes.map((probe) => (
                <li key={probe.probe}>
                  <p>
                    {probe.probe} ({probe.role}):{' '}
                    {probe.value === undefined
                      ? 'not read'
                      : tellReading(probe.role, probe.value, probe.unit, preferences)}{' '}
                    <span class="quiet">
                      slope {probe.slope.toFixed(3)}, offset {probe.offset.toFixed(3)},{' '}
                      {probe.calibratedAtMs === undefined
                        ? 'never calibrated here'
                        : `calibrated ${tellMoment(probe.calibratedAtMs, loadedAtMs)} by ${probe.by ?? 'somebody'}`}
                    </span>
                  </p>
                  <Unfold label="Calibrate it">
                    <ProbeCalibrationForm probe={probe} onDone={reload} />
                  </Unfold>
                </li>
              ))}
            </ul>
          </section>
          <Mapping nodes={value.nodes} />
        </div>
      </div>
    </>
  )
}

function ModeSteps({ value, onDone }: { readonly value: Commissioning; readonly onDone: () => void }): JSX.Element {
  const [mode, setMode] = useState<ModeName>(value.nextMode ?? value.mode)
  return (
    <section aria-labelledby="mode-title">
      <h2 id="mode-title">Mode</h2>
      <p>
        Now {MODES[value.mode]}. {tellOpen(value.checklist)}
      </p>
      <ul class="lines">
        {value.checklist.map(({ check, text, ok, next }) => (
          <li key={check}>
            {ok ? '✓' : '✕'} {text}
            {ok || next === undefined ? null : <p class="quiet">{next}</p>}
          </li>
        ))}
      </ul>
      <Unfold label="Change the mode">
        <Choice
          label="To"
          value={mode}
          onValue={(chosen) => setMode(chosen as ModeName)}
          options={Object.entries(MODES).map(([name, text]) => ({ value: name, text }))}
        />
        <SayForm instruction={{ instruction: 'mode', mode }} label={`Change to ${mode}`} onDone={onDone}>
          <p>
            Raising the mode is a technician’s act, and is kept with the reason. Anybody with a grower’s token may lower
            it.
          </p>
        </SayForm>
      </Unfold>
    </section>
  )
}

/** How far the way to the next mode is, before its steps. */
function tellOpen(checklist: Commissioning['checklist']): string {
  const open = checklist.filter(({ ok }) => !ok)
  if (open[0] === undefined) return 'All that is asked for below is there.'
  return `Of ${checklist.length} things that are asked for, ${open.length} ${open.length === 1 ? 'is' : 'are'} not there; first: ${open[0].next ?? open[0].text}.`
}

function Mapping({ nodes }: { readonly nodes: Commissioning['nodes'] }): JSX.Element {
  return (
    <section aria-labelledby="mapping-title">
      <h2 id="mapping-title">What is connected where</h2>
      <ul class="lines">
        {nodes.map(({ node, online, pumps }) => (
          <li key={node}>
            {online ? '✓' : '✕'} node {node}:{' '}
            {pumps.map(({ id, stock }) => `${id} gives ${stock ?? 'nothing that is configured'}`).join('; ') ||
              'has told no pump'}
          </li>
        ))}
      </ul>
    </section>
  )
}
