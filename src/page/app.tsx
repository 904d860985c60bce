import type { JSX } from 'preact'
import { useLive } from './data/live.ts'
import { useRoute } from './data/route.ts'
import { AppFrame } from './parts/app-frame.tsx'
import { Failure } from './parts/notice.tsx'

/** What every view needs of the daemon's status; the views ask for the rest themselves. */
interface FrameStatus {
  readonly reservoir: string
  readonly held: boolean
  readonly sentence: string
  readonly alarms: readonly { readonly state: string }[]
}

export function App(): JSX.Element {
  const view = useRoute()
  const { value: status, failure, reload } = useLive<FrameStatus>('/api/status')
  return (
    <AppFrame
      view={view}
      reservoir={status?.reservoir ?? 'Reservoir'}
      isHeld={status?.held ?? false}
      alarmCount={status?.alarms.length ?? 0}
      onHeld={reload}
    >
      <Failure lines={failure} />
      <p class="sentence">{status?.sentence ?? 'Asking the daemon…'}</p>
    </AppFrame>
  )
}
