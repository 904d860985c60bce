import type { FunctionComponent, JSX } from 'preact'
import type { Now } from '../shell/api/schema/status.ts'
import { lazily } from './data/lazy.ts'
import { NOW_PATH, useLive } from './data/live.ts'
import { useRoute, type ViewName } from './data/route.ts'
import { useWords } from './data/words.ts'
import { AppFrame } from './parts/app-frame.tsx'
import { Failure } from './parts/notice.tsx'
import { ReservoirView } from './views/reservoir-view.tsx'

const OTHERS: Readonly<Record<Exclude<ViewName, 'reservoir'>, FunctionComponent>> = {
  laboratory: lazily(async () => (await import('./views/laboratory-view.tsx')).LaboratoryView),
  doses: lazily(async () => (await import('./views/doses-view.tsx')).DosesView),
  alarms: lazily(async () => (await import('./views/alarms-view.tsx')).AlarmsView),
  desk: lazily(async () => (await import('./views/desk-view.tsx')).DeskView),
  limits: lazily(async () => (await import('./views/limits-view.tsx')).LimitsView),
  'setting-up': lazily(async () => (await import('./views/setting-up-view.tsx')).SettingUpView),
  records: lazily(async () => (await import('./views/records-view.tsx')).RecordsView),
}

export function App(): JSX.Element {
  const view = useRoute()
  const words = useWords()
  const { value: now, failure, reload } = useLive<Now>(NOW_PATH)
  // The daemon’s clock is known from its first answer; a refused one leaves the views their own words.
  const isAsked = now !== null || failure.length > 0
  const Other = view === 'reservoir' ? null : OTHERS[view]
  return (
    <AppFrame
      view={view}
      reservoir={now?.reservoir ?? 'Reservoir'}
      mode={now?.mode}
      isHeld={now?.hold !== undefined}
      isTripped={(now?.trips.length ?? 0) > 0}
      alarmCount={now?.alarms.filter(({ state }) => state === 'unacknowledged' || state === 'latched').length ?? 0}
      onHeld={reload}
    >
      <Failure lines={now === null ? failure : []} />
      <p class={Other === null ? 'sentence' : 'sentence is-brief'} aria-live="polite">
        {now === null
          ? failure.length > 0
            ? 'How the reservoir is cannot be shown.'
            : 'Asking the daemon…'
          : Other === null
            ? words(now.sentence, now.hold?.reason)
            : words(briefly(now, view), now.hold?.reason)}
      </p>
      {Other !== null && isAsked ? <Other /> : null}
      {Other === null && now !== null ? <ReservoirView now={now} onChange={reload} /> : null}
    </AppFrame>
  )
}

/** The other views have a subject of their own: there the cause is enough, and the reservoir’s view has the rest. */
function briefly({ sentence, alarms }: Now, view: ViewName): string {
  // what that view begins with need not stand above it as well
  if (view === 'alarms' && alarms.length > 0)
    return `${alarms.length === 1 ? 'One alarm stands' : `${alarms.length} alarms stand`}.`
  const told = alarms.find(({ text }) => text === sentence)
  return told === undefined ? sentence : `▲ ${told.cause}.`
}
