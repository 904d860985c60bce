/** Alarms: plant life first; each with cause, consequence and what to do; acknowledge, shelve, reset. */

import type { JSX } from 'preact'
import type { Alarm, Alarms } from '../../shell/api/schema/alarm.ts'
import { daemonNowMs } from '../data/daemon-clock.ts'
import { useLive } from '../data/live.ts'
import { tellDistance, tellMoment } from '../data/moment.ts'
import { useWords } from '../data/words.ts'
import { Failure } from '../parts/notice.tsx'
import { SayForm, Unfold } from '../parts/say-form.tsx'
import { SignInFirst } from '../parts/sign-in-first.tsx'
import { Causes } from './alarms/causes.tsx'

const STATES: Readonly<Record<Alarm['state'], string>> = {
  normal: 'normal',
  unacknowledged: '▲ nobody has seen to it yet',
  acknowledged: '△ acknowledged, still there',
  returned: '△ gone by itself, not acknowledged',
  latched: '■ latched until it is reset',
  shelved: '▽ shelved',
  suppressed: '△ follows from another',
}
const PRIORITIES: Readonly<Record<Alarm['priority'], string>> = { urgent: 'urgent', high: 'high', low: 'low' }
const SHELVE_H = [1, 4, 12, 24] as const
const HOUR_MS = 3_600_000

export function AlarmsView(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Alarms>('/api/alarms')
  return (
    <>
      <Failure lines={failure} />
      <SignInFirst as="grower" to="acknowledge or shelve; anybody may look" />
      {value === null ? null : (
        <div class="columns">
          <div>
            <Standing alarms={value.alarms} nowMs={loadedAtMs} onDone={reload} />
            <Trips trips={value.trips} nowMs={loadedAtMs} onDone={reload} />
          </div>
          <div>
            <Causes />
            <Past value={value} nowMs={loadedAtMs} />
          </div>
        </div>
      )}
    </>
  )
}

interface ListProps {
  readonly nowMs: number
  readonly onDone: () => void
}

function Standing({ alarms, nowMs, onDone }: ListProps & { readonly alarms: readonly Alarm[] }): JSX.Element {
  const words = useWords()
  return (
    <section aria-labelledby="standing-title">
      <h2 id="standing-title">Standing alarms</h2>
      {alarms.length === 0 ? <p>None. Nobody is needed.</p> : null}
      <ul class="lines">
        {alarms.map((alarm) => (
          <li key={alarm.alarm}>
            <h3 class={alarm.state === 'unacknowledged' || alarm.state === 'latched' ? 'is-abnormal' : ''}>
              {words(alarm.cause ?? alarm.text)}
            </h3>
            <p class="quiet">
              {STATES[alarm.state]}; {alarm.isPlantLife ? 'the plants’ life is at stake; ' : ''}priority{' '}
              {PRIORITIES[alarm.priority]}
              {alarm.sinceMs === undefined ? '' : `; since ${tellMoment(alarm.sinceMs, nowMs)}`}
              {alarm.shelvedUntilMs === undefined ? '' : `; until ${tellMoment(alarm.shelvedUntilMs, nowMs)}`}
            </p>
            <Explanation alarm={alarm} />
            <AlarmActions alarm={alarm} onDone={onDone} />
          </li>
        ))}
      </ul>
    </section>
  )
}

function Explanation({ alarm }: { readonly alarm: Alarm }): JSX.Element {
  const { consequence, action, respondWithin, groups } = alarm
  return (
    <dl class="pairs">
      <Part title="If nothing is done" text={consequence} />
      <Part title="What to do" text={action} />
      <Part title="Time for it" text={respondWithin} />
      <Part title="Comes with it" text={groups.length === 0 ? undefined : groups.join(', ')} />
    </dl>
  )
}

function Part({ title, text }: { readonly title: string; readonly text: string | undefined }): JSX.Element | null {
  const words = useWords()
  if (text === undefined || text === '') return null
  return (
    <div>
      <dt class="quiet">{title}</dt>
      <dd>{words(text)}</dd>
    </div>
  )
}

function AlarmActions({ alarm, onDone }: Pick<ListProps, 'onDone'> & { readonly alarm: Alarm }): JSX.Element {
  const name = alarm.alarm
  return (
    <>
      {alarm.state === 'unacknowledged' || alarm.state === 'returned' ? (
        <Unfold label="Acknowledge">
          <SayForm instruction={{ instruction: 'acknowledge', alarm: name }} label="I see to it" onDone={onDone} />
        </Unfold>
      ) : null}
      {alarm.state === 'shelved' ? (
        <Unfold key="unshelve" label="Take off the shelf">
          <SayForm
            instruction={{ instruction: 'unshelve', alarm: name }}
            label="Take it off the shelf"
            onDone={onDone}
          />
        </Unfold>
      ) : (
        <Unfold key="shelve" label="Shelve for a time">
          {SHELVE_H.filter((hours) => !alarm.isPlantLife || hours === 1).map((hours) => (
            <SayForm
              key={hours}
              instruction={() => ({ instruction: 'shelve', alarm: name, untilMs: daemonNowMs() + hours * HOUR_MS })}
              label={`Shelve for ${hours} h`}
              onDone={onDone}
            />
          ))}
        </Unfold>
      )}
    </>
  )
}

function Trips({ trips, nowMs, onDone }: ListProps & { readonly trips: Alarms['trips'] }): JSX.Element | null {
  const words = useWords()
  if (trips.length === 0) return null
  return (
    <section aria-labelledby="trips-title">
      <h2 id="trips-title">Tripped: no dose until reset</h2>
      <ul class="lines">
        {trips.map(({ trip, subject, why, atMs }) => (
          <li key={`${trip} ${subject}`}>
            <h3 class="is-abnormal">■ {words(why)}</h3>
            <p class="quiet">
              <time>{tellDistance(atMs, nowMs)}</time>: <code>{trip}</code> of {subject}
            </p>
            <Unfold label="Reset">
              <SayForm
                instruction={{ instruction: 'reset', trip }}
                label="The cause is found and mended: reset"
                onDone={onDone}
              >
                <p>
                  Find the cause first. What stopped the pumps once will do so again, perhaps after a dose too many.
                </p>
              </SayForm>
            </Unfold>
          </li>
        ))}
      </ul>
    </section>
  )
}

function Past({ value, nowMs }: { readonly value: Alarms; readonly nowMs: number }): JSX.Element {
  const words = useWords()
  return (
    <section aria-labelledby="past-title">
      <h2 id="past-title">Last week</h2>
      {value.past.length === 0 ? <p class="quiet">Nothing changed.</p> : null}
      <ul class="lines">
        {value.past.map(({ atMs, alarm, state, text }) => (
          <li key={`${atMs} ${alarm} ${state}`}>
            <time>{tellMoment(atMs, nowMs)}</time> <span class="quiet">{STATES[state as Alarm['state']] ?? state}</span>
            <p>{words(text)}</p>
          </li>
        ))}
      </ul>
    </section>
  )
}
