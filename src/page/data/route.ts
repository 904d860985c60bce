import { useEffect, useState } from 'preact/hooks'

/** The views of the page, in the order of the way through them. */
export const VIEWS = ['reservoir', 'laboratory', 'doses', 'alarms', 'desk', 'limits', 'setting-up', 'records'] as const

export type ViewName = (typeof VIEWS)[number]

export const VIEW_TITLES: Readonly<Record<ViewName, string>> = {
  reservoir: 'Reservoir',
  laboratory: 'Laboratory',
  doses: 'Doses and acts',
  alarms: 'Alarms',
  desk: 'Desk',
  limits: 'Limits',
  'setting-up': 'Setting up',
  records: 'Records',
}

/** The view named after the `#` of the address; the reservoir where it names none. */
export function useRoute(): ViewName {
  const [view, setView] = useState(readRoute)
  useEffect(() => {
    const listener = () => setView(readRoute())
    addEventListener('hashchange', listener)
    // a link may have been touched after the first drawing and before anybody listened
    listener()
    return () => removeEventListener('hashchange', listener)
  }, [])
  return view
}

function readRoute(): ViewName {
  const name = location.hash.replace(/^#\/?/, '').split('/')[0]
  return VIEWS.find((view) => view === name) ?? 'reservoir'
}
