/** Limits: what each means, how far it may go, who changed it last; change with a preview in two parts. */

import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Limit, Limits } from '../../shell/api/schema/limits.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import { useMe } from '../data/session.ts'
import { Input } from '../parts/field.tsx'
import { Failure } from '../parts/notice.tsx'
import { SignInFirst } from '../parts/sign-in-first.tsx'
import { LimitChange } from './limits/limit-change.tsx'

export function LimitsView(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Limits>('/api/limits')
  const { may } = useMe()
  const [sought, setSought] = useState('')
  const all = value?.limits ?? []
  const found = all.filter((limit) => isSought(limit, sought))
  const moved = all.filter(({ value: now, fileValue }) => now !== fileValue).length
  return (
    <>
      <p class="first">
        {value === null
          ? ''
          : moved === 0
            ? `All ${all.length} limits stand as in the limits file.`
            : `✎ ${moved} of ${all.length} limits ${moved === 1 ? 'stands' : 'stand'} elsewhere than in the limits file.`}
      </p>
      <p class="quiet">
        A limit can be moved here as far as the limits file allows; to go beyond, a technician changes that file. Every
        change is kept with who and why.
      </p>
      <SignInFirst as="technician" to="change a limit; anybody may try one out" />
      <Failure lines={failure} />
      <div class="fields">
        <Input
          label="Find a limit"
          value={sought}
          onValue={setSought}
          isRequired={false}
          hint="By any of its words: acid, calcium day, level"
        />
      </div>
      {value !== null && found.length === 0 ? <p>No limit has all these words.</p> : null}
      <div class="columns is-even">
        {halves(found).map((half) => (
          <div key={half[0]?.group}>
            {[...new Set(half.map(({ group }) => group))].map((group) => (
              <section key={group} aria-label={group}>
                <h2>{tellGroup(group)}</h2>
                <ul class="lines is-folded">
                  {half
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
          </div>
        ))}
      </div>
    </>
  )
}

/** For two columns of about one length; no group is torn. */
function halves(limits: readonly Limit[]): readonly (readonly Limit[])[] {
  const turn = limits[Math.floor((limits.length - 1) / 2)]?.group
  const at = limits.findLastIndex(({ group }) => group === turn) + 1
  return [limits.slice(0, at), limits.slice(at)].filter((half) => half.length > 0)
}

/** `notFitted` is a key of the limits file; a stock’s own name stays as it is. */
function tellGroup(group: string): string {
  return group === 'notFitted' ? 'not fitted' : group
}

function isSought({ group, meaning, path }: Limit, sought: string): boolean {
  const words = `${group} ${meaning} ${path}`.toLowerCase()
  return sought
    .toLowerCase()
    .split(/\s+/)
    .every((word) => words.includes(word))
}

interface LimitRowProps {
  readonly limit: Limit
  readonly nowMs: number
  readonly isAllowed: boolean
  readonly onDone: () => void
}

/** A line that opens: eighty limits are a list to run the eye down, not eighty forms. */
function LimitRow({ limit, nowMs, isAllowed, onDone }: LimitRowProps): JSX.Element {
  const [isOpen, setOpen] = useState(false)
  const { value, fileValue, unit, meaning, path, changed, isChangeable } = limit
  return (
    <li>
      <details onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>
          {value === fileValue ? '' : '✎ '}
          <strong>
            {value} {tellUnit(unit)}
          </strong>{' '}
          {meaning}
        </summary>
        <p class="quiet">
          <code>{path}</code>
          {tellBounds(limit)}
        </p>
        {changed === undefined ? null : (
          <p class="quiet">
            Changed from {changed.from} by {changed.by}, {tellMoment(changed.atMs, nowMs)}: {changed.reason}
          </p>
        )}
        {isOpen && isChangeable ? <LimitChange limit={limit} isAllowed={isAllowed} onDone={onDone} /> : null}
      </details>
    </li>
  )
}

function tellBounds({ ceiling, floor, fileValue, value, unit: written }: Limit): string {
  const unit = tellUnit(written)
  const most = ceiling === undefined ? '' : `at most ${ceiling} ${unit}`
  const least = floor === undefined ? '' : `at least ${floor} ${unit}`
  const bounds = [least, most].filter((part) => part !== '').join(', ')
  const file = fileValue === value ? '' : `; ${fileValue} ${unit} in the limits file`
  return `${file}${bounds === '' ? '' : `; from here ${bounds}`}`
}

/** The limits file writes units with letters alone. */
function tellUnit(unit: string): string {
  return unit === 'degC' ? '°C' : unit
}
