import type { ComponentType, FunctionComponent } from 'preact'
import { h } from 'preact'
import { useEffect, useState } from 'preact/hooks'

/** A component whose code is fetched when it is first shown: the first load carries the reservoir view alone. */
export function lazily<Props extends object>(load: () => Promise<ComponentType<Props>>): FunctionComponent<Props> {
  let loaded: ComponentType<Props> | null = null
  return (props) => {
    const [, setLoaded] = useState(loaded !== null)
    const [failed, setFailed] = useState(false)
    useEffect(() => {
      if (loaded !== null) return
      load().then(
        (component) => {
          loaded = component
          setLoaded(true)
        },
        () => setFailed(true),
      )
    }, [])
    if (failed) return h('p', { role: 'alert' }, 'This view could not be fetched. Load the page again.')
    return loaded === null ? h('p', { class: 'quiet' }, 'Fetching…') : h(loaded, props)
  }
}
