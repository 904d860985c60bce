/** Reservoir now: what is wrong before anything else, then what is believed, then what comes next. */

import type { JSX } from 'preact'
import type { ElementNow, Now } from '../../shell/api/schema/status.ts'
import { lazily } from '../data/lazy.ts'
import { tellDistance, tellMoment } from '../data/moment.ts'
import { type Preferences, usePreferences } from '../data/preferences.ts'
import { tellVolume } from '../data/quantity.ts'
import { useWords } from '../data/words.ts'
import { wrongLines } from '../data/wrong-lines.ts'
import { ElementRow } from '../parts/element-row.tsx'
import { Readings } from '../parts/readings.tsx'
import { SayForm, Unfold } from '../parts/say-form.tsx'

const Trends = lazily(async () => (await import('./trends.tsx')).Trends)

const HABITS: readonly { readonly habit: ElementNow['habit']; readonly title: string; readonly note: string }[] = [
  { habit: 'taken-quickly', title: 'Taken quickly', note: 'runs short first' },
  { habit: 'with-the-water', title: 'Taken with the water', note: 'moves slowly' },
  { habit: 'left-behind', title: 'Left behind', note: 'piles up; only letting water go lowers it' },
]

interface ReservoirViewProps {
  readonly now: Now
  readonly onChange: () => void
}

export function ReservoirView({ now, onChange }: ReservoirViewProps): JSX.Element {
  const preferences = usePreferences()
  return (
    <>
      <Wrong now={now} onChange={onChange} />
      <div class="columns is-reservoir">
        <Elements now={now} preferences={preferences} />
        <div>
          <section aria-labelledby="readings-title">
            <h2 id="readings-title">Readings</h2>
            <Readings now={now} preferences={preferences} />
          </section>
          <Sample now={now} />
          <Next now={now} onChange={onChange} />
          <Crop now={now} preferences={preferences} />
        </div>
        <Trends nowMs={now.atMs} elements={now.elements.map(({ element }) => element)} preferences={preferences} />
      </div>
    </>
  )
}

function Wrong({ now, onChange }: ReservoirViewProps): JSX.Element | null {
  const words = useWords()
  if (now.wrong.length === 0) return null
  return (
    <section aria-labelledby="wrong-title">
      <h2 id="wrong-title">Not as it should be</h2>
      <ul class="lines">
        {wrongLines(now.wrong).map(({ kind, priority, text, id }) => (
          <li key={`${kind} ${id ?? text}`} class={priority === 'low' ? '' : 'is-abnormal'}>
            {priority === 'urgent' ? '▲▲ ' : priority === 'high' ? '▲ ' : '△ '}
            {words(kind === 'alarm' ? tellAlarm(now, id, text) : text, now.hold?.reason)}{' '}
            {kind === 'alarm' || kind === 'trip' ? <a href="#/alarms">To the alarms</a> : null}
          </li>
        ))}
      </ul>
      {now.hold === undefined ? null : (
        <Unfold label="Release the hold">
          <SayForm instruction={{ instruction: 'release' }} label="Release: dosing may go on" onDone={onChange}>
            <p>
              Held by {now.hold.by} {tellDistance(now.hold.sinceMs, now.atMs)}: {now.hold.reason}
            </p>
          </SayForm>
        </Unfold>
      )}
    </section>
  )
}

/** Its cause; of the one that the sentence above has told in full, no more than its name. */
function tellAlarm({ alarms, sentence }: Now, id: string | undefined, otherwise: string): string {
  const alarm = alarms.find((one) => one.alarm === id)
  if (alarm === undefined) return otherwise
  return alarm.text === sentence ? alarm.cause.replace(/ \(.*\)$/s, '') : alarm.cause
}

interface WithPreferences {
  readonly now: Now
  readonly preferences: Preferences
}

function Elements({ now, preferences }: WithPreferences): JSX.Element {
  return (
    <section aria-labelledby="elements-title">
      <h2 id="elements-title">Elements</h2>
      <p class="quiet">
        Between the two banks is the crop’s band, the dotted line its aim. ● estimate with its 90 % interval, ◇ last
        laboratory value.
      </p>
      {HABITS.map(({ habit, title, note }) => (
        <div key={habit}>
          <h3>
            {title}: {note}
          </h3>
          <ul class="elements">
            {now.elements
              .filter((element) => element.habit === habit)
              .map((element) => (
                <ElementRow key={element.element} element={element} nowMs={now.atMs} preferences={preferences} />
              ))}
          </ul>
        </div>
      ))}
    </section>
  )
}

function Sample({ now }: { readonly now: Now }): JSX.Element {
  const words = useWords()
  const { dueInDays, text } = now.sample
  const isDue = dueInDays !== undefined && dueInDays <= 0
  return (
    <section aria-labelledby="sample-title">
      <h2 id="sample-title">Next sample</h2>
      <p class={isDue ? 'is-abnormal' : ''}>
        {isDue ? '▲ ' : ''}
        {words(text)} <a href="#/laboratory">To the laboratory</a>
      </p>
    </section>
  )
}

function Next({ now, onChange }: ReservoirViewProps): JSX.Element {
  const words = useWords()
  const { plan } = now
  return (
    <section aria-labelledby="next-title">
      <h2 id="next-title">What comes next</h2>
      {now.standstill === undefined || now.sentence.includes(now.standstill.text) ? null : (
        <p class="is-abnormal">△ {words(now.standstill.text)}</p>
      )}
      {now.nextDoses.length === 0 ? (
        <p class="quiet">No dose is planned just now.</p>
      ) : (
        <p class="quiet">In these sentences ± is one standard deviation; the bands show 90 %, which is 1.6 of them.</p>
      )}
      <ol class="lines">
        {now.nextDoses.map(({ stock, volumeMl, atMs, reason }, at) => (
          <li key={`${stock} ${at}`}>
            {atMs === undefined ? '' : <time>{tellMoment(atMs, now.atMs)} </time>}
            {reason === '' ? `${volumeMl.toFixed(1)} mL ${stock}` : words(reason)}
          </li>
        ))}
      </ol>
      {plan?.notes.map((note) => (
        <p key={note} class="quiet">
          {words(note)}
        </p>
      ))}
      {plan?.waitsForApproval ? (
        <div class="sheet">
          <SayForm
            instruction={{ instruction: 'approve', planId: plan.id }}
            label="Approve this plan"
            reason="looked at it and agree"
            onDone={onChange}
          >
            <p>The mode is advise: this plan waits for a person, until {tellMoment(plan.untilMs, now.atMs)}.</p>
          </SayForm>
        </div>
      ) : null}
    </section>
  )
}

function Crop({ now, preferences }: WithPreferences): JSX.Element {
  return (
    <section aria-labelledby="crop-title">
      <h2 id="crop-title">Crop and water</h2>
      <ul class="lines">
        {now.cohorts.map(({ id, crop, plants, transplantedAtMs, harvestedAtMs }) => (
          <li key={id}>
            {plants} plants of {crop} <span class="quiet">({id})</span>, transplanted{' '}
            {tellDistance(transplantedAtMs, now.atMs)}
            {harvestedAtMs === undefined ? '' : `, harvested ${tellDistance(harvestedAtMs, now.atMs)}`}
          </li>
        ))}
        {now.volumeL === undefined ? null : (
          <li>
            About {tellVolume(now.volumeL, preferences)} in all
            {now.alkalinityMeqPerL === undefined ? '' : `, alkalinity ${now.alkalinityMeqPerL.toFixed(2)} meq/L`}
          </li>
        )}
      </ul>
    </section>
  )
}
