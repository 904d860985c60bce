/** Records: a report for a period, who is signed in and who may, and how this browser likes its units. */

import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { daemonNowMs } from '../data/daemon-clock.ts'
import { useMe } from '../data/session.ts'
import { Input } from '../parts/field.tsx'
import { PreferencesForm } from './records/preferences-form.tsx'
import { SignIn } from './records/sign-in.tsx'
import { TokenList } from './records/token-list.tsx'

const DAY_MS = 86_400_000
const DAYS = 14

export function RecordsView(): JSX.Element {
  const { me, may, reload } = useMe()
  return (
    <div class="columns is-even">
      <div>
        <SignIn me={me} onDone={reload} />
        <PeriodReport />
      </div>
      <div>
        <PreferencesForm />
        {may('technician') ? <TokenList /> : null}
      </div>
    </div>
  )
}

/** A link, not a script: the report is one file that a browser opens or keeps. */
function PeriodReport(): JSX.Element {
  const [from, setFrom] = useState(dayOf(daemonNowMs() - DAYS * DAY_MS))
  const [to, setTo] = useState(dayOf(daemonNowMs()))
  const fromMs = new Date(`${from}T00:00`).getTime()
  const toMs = Math.min(new Date(`${to}T00:00`).getTime() + DAY_MS, daemonNowMs())
  const isPeriod = fromMs < toMs
  return (
    <section aria-labelledby="period-title">
      <h2 id="period-title">Report for a period</h2>
      <div class="fields">
        <Field label="From" value={from} onValue={setFrom} />
        <Field label="Until, and with" value={to} onValue={setTo} />
      </div>
      <p>
        {isPeriod ? (
          <a class="button" href={`/api/report?from=${fromMs}&to=${toMs}`} download={`report-${from}-${to}.html`}>
            Fetch the report
          </a>
        ) : (
          'The last day lies before the first.'
        )}
      </p>
    </section>
  )
}

function Field(props: {
  readonly label: string
  readonly value: string
  readonly onValue: (value: string) => void
}): JSX.Element {
  return <Input {...props} type="date" />
}

function dayOf(atMs: number): string {
  const at = new Date(atMs)
  return new Date(atMs - at.getTimezoneOffset() * 60_000).toISOString().slice(0, 10)
}
