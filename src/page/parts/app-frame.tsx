import type { ComponentChildren, JSX } from 'preact'
import type { Now } from '../../shell/api/schema/status.ts'
import { useConnected } from '../data/live.ts'
import { VIEW_TITLES, VIEWS, type ViewName } from '../data/route.ts'
import { HoldButton } from './hold-button.tsx'

type Mode = Now['mode']

const MODES: Readonly<Record<Mode, string>> = {
  observe: 'looks on, doses nothing',
  advise: 'proposes, a person approves',
  automatic: 'doses by itself',
}

/** What stands in the way of any mode is told in its place. */
const HELD = '■ on hold, nothing is dosed'
const TRIPPED = '■ tripped, nothing is dosed'

interface AppFrameProps {
  readonly view: ViewName
  readonly reservoir: string
  readonly mode: Mode | undefined
  readonly isHeld: boolean
  /** an interlock has tripped: no pump runs until it is reset */
  readonly isTripped: boolean
  /** alarms that wait for a person */
  readonly alarmCount: number
  readonly onHeld: () => void
  readonly children: ComponentChildren
}

/** What stands on every view: whose reservoir, the hold, the way to the other views, and whether the daemon is heard. */
export function AppFrame({
  view,
  reservoir,
  mode,
  isHeld,
  isTripped,
  alarmCount,
  onHeld,
  children,
}: AppFrameProps): JSX.Element {
  const isConnected = useConnected()
  return (
    <div class="frame">
      <button class="skip" type="button" onClick={skipToContent}>
        To the content
      </button>
      <header class="head">
        <div>
          <h1>{reservoir}</h1>
          <p class="quiet" role="status">
            {isConnected
              ? mode === undefined
                ? 'connected'
                : `${isHeld ? HELD : isTripped ? TRIPPED : MODES[mode]}; connected`
              : '✕ The daemon is not heard. What stands here may be old; it asks again by itself.'}
          </p>
        </div>
        <HoldButton isHeld={isHeld} onDone={onHeld} />
      </header>
      <nav class="views" aria-label="Views">
        {VIEWS.map((name) => (
          <a key={name} href={`#/${name}`} aria-current={name === view ? 'page' : undefined}>
            {VIEW_TITLES[name]}
            {name === 'alarms' && alarmCount > 0 ? (
              <span class="count" title={`${alarmCount} waiting`}>
                ▲{alarmCount}
              </span>
            ) : null}
          </a>
        ))}
      </nav>
      <main id="content" tabIndex={-1}>
        {children}
      </main>
    </div>
  )
}

/** A button, since the address after `#` names the view already. */
function skipToContent(): void {
  document.getElementById('content')?.focus()
}
