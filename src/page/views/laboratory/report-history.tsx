import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../../shell/api/schema/common.ts'
import type { LaboratoryList } from '../../../shell/api/schema/laboratory.ts'
import { tellMoment, tellSpan } from '../../data/moment.ts'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Input } from '../../parts/field.tsx'
import { Failure } from '../../parts/notice.tsx'
import { Unfold } from '../../parts/say-form.tsx'
import { NOTHING, Table } from '../../parts/table.tsx'

type Report = LaboratoryList['reports'][number]

interface ReportHistoryProps {
  readonly reports: readonly Report[]
  readonly nowMs: number
  readonly onDone: () => void
}

const STATES: Readonly<Record<Report['state'], string>> = {
  accepted: '✓ accepted',
  held: '△ held for a decision',
  withdrawn: '✕ withdrawn',
}

/** Every report, newest bottle first, the laboratory against what was believed at sampling. */
export function ReportHistory({ reports, nowMs, onDone }: ReportHistoryProps): JSX.Element {
  return (
    <section aria-labelledby="reports-title">
      <h2 id="reports-title">Reports so far</h2>
      {reports.length === 0 ? (
        <p class="quiet">None yet. Until the first one, only the recipe and the probes are known.</p>
      ) : null}
      <ul class="lines">
        {reports.map((report) => (
          <li key={report.id}>
            <p>
              Bottle of {tellMoment(report.sampledAtMs, nowMs)}, came{' '}
              {tellSpan(report.receivedAtMs - report.sampledAtMs)} later, given by {report.by}:{' '}
              <span class={report.state === 'held' ? 'is-abnormal' : ''}>{STATES[report.state]}</span>
            </p>
            {report.why.map((line) => (
              <p key={line} class="quiet">
                {line}
              </p>
            ))}
            <Unfold label="Laboratory against estimate">
              <Comparison report={report} />
            </Unfold>
            {report.state === 'withdrawn' ? null : <Decide report={report} onDone={onDone} />}
          </li>
        ))}
      </ul>
    </section>
  )
}

function Comparison({ report }: { readonly report: Report }): JSX.Element {
  return (
    <Table
      caption={usePreferences().concentration}
      rows={report.values}
      keyOf={({ element }) => element}
      columns={[
        { title: 'Element', tell: ({ element }) => element },
        {
          title: 'Laboratory',
          tell: ({ mgPerL, belowMgPerL }) =>
            mgPerL === undefined ? `below ${tellNumber(belowMgPerL ?? 0)}` : tellNumber(mgPerL),
        },
        {
          title: 'Believed at sampling',
          tell: ({ estimateMgPerL: believed, estimateSdMgPerL: sd }) =>
            believed === undefined ? NOTHING : `${tellNumber(believed)} ± ${tellNumber(sd ?? 0)}`,
        },
      ]}
    />
  )
}

function Decide({ report, onDone }: { readonly report: Report; readonly onDone: () => void }): JSX.Element {
  const [reason, setReason] = useState('')
  const telling = useTelling<Taken>()
  const run = async (what: 'accept' | 'hold' | 'withdraw') => {
    const path = `/api/laboratory/${encodeURIComponent(report.id)}/${what === 'withdraw' ? 'withdraw' : 'decision'}`
    const body = what === 'withdraw' ? { reason } : { reason, decision: what }
    if ((await telling.run(path, body)) !== null) onDone()
  }
  return (
    <Unfold label={report.state === 'held' ? 'Decide' : 'Take it back'}>
      <div class="fields">
        <Input label="Reason" value={reason} onValue={setReason} hint="Kept in the records beside your name" />
      </div>
      <div class="actions">
        {report.state === 'held' ? (
          <Button isOff={telling.isBusy || reason === ''} onClick={() => run('accept')}>
            Accept
          </Button>
        ) : null}
        <Button isOff={telling.isBusy || reason === ''} onClick={() => run('withdraw')}>
          Withdraw
        </Button>
      </div>
      <Failure lines={telling.failure} />
    </Unfold>
  )
}
