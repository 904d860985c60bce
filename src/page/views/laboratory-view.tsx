/** The laboratory: draw a sample at a good moment, give the report, see its effect before it is taken, look back. */

import type { JSX } from 'preact'
import type { LaboratoryList } from '../../shell/api/schema/laboratory.ts'
import { useLive } from '../data/live.ts'
import { Failure } from '../parts/notice.tsx'
import { SignInFirst } from '../parts/sign-in-first.tsx'
import { Learned } from './laboratory/learned.tsx'
import { ReportForm } from './laboratory/report-form.tsx'
import { ReportHistory } from './laboratory/report-history.tsx'
import { SampleDrawn } from './laboratory/sample-drawn.tsx'
import { SpotReadings } from './laboratory/spot-readings.tsx'

export function LaboratoryView(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<LaboratoryList>('/api/laboratory')
  return (
    <>
      <SignInFirst as="grower" to="give or decide a report; anybody may see what one would do" />
      <div class="columns is-even">
        <div>
          <SampleDrawn onDone={reload} />
          <ReportForm drawnAtMs={value?.samples[0]?.atMs} onDone={reload} />
          <SpotReadings spots={value?.spots ?? []} nowMs={loadedAtMs} onDone={reload} />
        </div>
        <div>
          <Failure lines={failure} />
          {value === null ? null : <ReportHistory reports={value.reports} nowMs={loadedAtMs} onDone={reload} />}
          <Learned />
        </div>
      </div>
    </>
  )
}
