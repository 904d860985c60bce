/** Limits: what each means, how far it may go, who changed it last; change with a preview in two parts. */

import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Limit, Limits } from '../../shell/api/schema/limits.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import { useMe } from '../data/session.ts'
import { Failure } from '../parts/notice.tsx'
import { LimitChange } from './limits/limit-change.tsx'

export function LimitsView(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Limits>('/api/limits')
  const { may } = useMe()
  const groups = [...new Set(value?.limits.map(({ group }) => group) ?? [])]
  return (
    <>
      <p class="quiet">
        A limit can be moved here as far as the limits file allows; to go beyond, a technician changes that file. Every
        change is kept with who and why.
      </p>
      {may('technician') ? null : (
        <p>Sign in as a technician (under Records) to change a limit; anybody may try one out.</p>
      )}
      <Failure lines={failure} />
      {groups.map((group) => (
        <section key={group} aria-label={group}>
          <h2>{group}</h2>
          <ul class="lines">
            {value?.limits
              .filter((limit) => limit.group === group)
              .map((limit) => (
                <LimitRow
                  key={limit.path}
                  limit={limit}
                  nowMs={loadedAtMs}
                  isAllowed={may('technician')}
                  onDone={reload}
                />
              ))}
          </ul>
        </section>
      ))}
    </>
  )
}

interface LimitRowProps {
  readonly limit: Limit
  readonly nowMs: number
  readonly isAllowed: boolean
  readonly onDone: () => void
}

function LimitRow({ limit, nowMs, isAllowed, onDone }: LimitRowProps): JSX.Element {
  const [isOpen, setOpen] = useState(false)
  return (
    <li>
      <p>
        <strong>
          {limit.value} {limit.unit}
        </strong>{' '}
        {limit.meaning} <span class="quiet">{limit.path}</span>
      </p>
      {tellBounds(limit) === '' ? null : <p class="quiet">{tellBounds(limit)}</p>}
      {limit.changed === undefined ? null : (
        <p class="quiet">
          Changed from {limit.changed.from} by {limit.changed.by}, {tellMoment(limit.changed.atMs, nowMs)}:{' '}
          {limit.changed.reason}
        </p>
      )}
      {limit.isChangeable ? (
        <details onToggle={(event) => setOpen(event.currentTarget.open)}>
          <summary>Try or change it</summary>
          {isOpen ? <LimitChange limit={limit} isAllowed={isAllowed} onDone={onDone} /> : null}
        </details>
      ) : null}
    </li>
  )
}

function tellBounds({ ceiling, floor, fileValue, value, unit }: Limit): string {
  const most = ceiling === undefined ? '' : `at most ${ceiling} ${unit}`
  const least = floor === undefined ? '' : `at least ${floor} ${unit}`
  const bounds = [least, most].filter((part) => part !== '').join(', ')
  const file = fileValue === value ? '' : `${fileValue} ${unit} in the limits file`
  return [file, bounds === '' ? '' : `from here ${bounds}`].filter((part) => part !== '').join('; ')
}
