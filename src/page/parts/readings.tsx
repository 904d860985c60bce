import type { JSX } from 'preact'
import type { Now, ProbeNow } from '../../shell/api/schema/status.ts'
import { tellDistance } from '../data/moment.ts'
import type { Preferences } from '../data/preferences.ts'
import { tellReading, tellVolume } from '../data/quantity.ts'

interface ReadingsProps {
  readonly now: Now
  readonly preferences: Preferences
}

const NAMES: Readonly<Record<ProbeNow['quantity'], string>> = {
  conductivity: 'EC',
  ph: 'pH',
  level: 'Level',
  temperature: 'Water temperature',
  flow: 'Flow',
  'top-up': 'Top-up meter',
  'hold-switch': 'Hold switch',
  other: 'Other',
}

/** What the probes read, a doubtful one looking doubtful, and the water that was used. */
export function Readings({ now, preferences }: ReadingsProps): JSX.Element {
  const { usedTodayL, usedLastDayL } = now.water
  return (
    <dl class="readings">
      {now.probes.filter(isShown).map((probe) => (
        <div key={probe.probe}>
          <dt>
            {NAMES[probe.quantity]} <small class="quiet">{probe.probe}</small>
          </dt>
          <dd class={isDoubtful(probe) ? 'is-abnormal' : ''}>
            {isDoubtful(probe) ? '? ' : ''}
            {probe.value === undefined ? '–' : tellReading(probe.quantity, probe.value, probe.unit, preferences)}
            <small class={isDoubtful(probe) ? 'is-abnormal' : 'quiet'}>{tellState(probe, now.atMs)}</small>
          </dd>
        </div>
      ))}
      {now.notFitted.map(({ role, reason }) => (
        <div key={role}>
          <dt>{role}</dt>
          <dd>
            not fitted<small class="quiet">{reason}</small>
          </dd>
        </div>
      ))}
      {usedTodayL === undefined ? null : (
        <div>
          <dt>Water used today</dt>
          <dd>
            {tellVolume(usedTodayL, preferences)}
            {usedLastDayL === undefined ? null : (
              <small class="quiet">{tellVolume(usedLastDayL, preferences)} in the last 24 h</small>
            )}
          </dd>
        </div>
      )}
    </dl>
  )
}

/** A meter of make-up water counts only when it turns; what it counted stands under the water used. */
function isShown({ quantity, value }: ProbeNow): boolean {
  return quantity !== 'top-up' || value !== undefined
}

function isDoubtful(probe: ProbeNow): boolean {
  return probe.isStale || probe.abnormal !== undefined || probe.value === undefined
}

function tellState({ abnormal, atMs, isStale, expected, quantity }: ProbeNow, nowMs: number): string {
  const age = atMs === undefined ? 'never read' : tellDistance(atMs, nowMs)
  if (abnormal !== undefined) return `${abnormal}, ${age}`
  if (isStale) return `old: ${age}`
  const model = expected !== undefined && (quantity === 'conductivity' || quantity === 'ph')
  return model ? `${age}; ${expected.toFixed(2)} expected` : age
}
