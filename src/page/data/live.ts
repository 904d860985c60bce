import { useEffect, useRef, useState } from 'preact/hooks'
import { daemonNowMs, noteDaemonTime } from './daemon-clock.ts'
import { reasonsOf } from './problem.ts'
import { ask } from './request.ts'

/** The first event of a burst is asked about at once, the rest of it once more after this. */
const GATHER_MS = 250
/** Ages and forecasts move even when nothing happens. */
const REFRESH_MS = 15_000
/** The answer that carries the daemon’s own time. */
export const NOW_PATH = '/api/now'

export interface Loaded<Value> {
  /** the last good answer, kept while a newer one is on its way or fails */
  readonly value: Value | null
  /** why the last attempt failed, empty while all is well */
  readonly failure: readonly string[]
  /** by the daemon’s clock, which is the one its times are told by */
  readonly loadedAtMs: number
  readonly reload: () => void
}

/** One answer of the daemon, kept fresh: asked again when something happened there, and every now and then. */
export function useLive<Value>(path: string): Loaded<Value> {
  const [state, setState] = useState<Omit<Loaded<Value>, 'reload'>>({ value: null, failure: [], loadedAtMs: 0 })
  const newest = useRef(0)
  const reload = useRef(() => {})
  reload.current = () => {
    newest.current += 1
    const mine = newest.current
    ask<Value>(path).then(
      (value) => {
        if (mine !== newest.current) return
        if (path === NOW_PATH) noteDaemonTime((value as { readonly atMs: number }).atMs)
        setState({ value, failure: [], loadedAtMs: daemonNowMs() })
      },
      (failure) => mine === newest.current && setState((old) => ({ ...old, failure: reasonsOf(failure) })),
    )
  }
  useEffect(() => {
    reload.current()
    return onNews(() => reload.current())
  }, [path])
  return { ...state, reload: () => reload.current() }
}

const hearers = new Set<() => void>()
const watchers = new Set<(connected: boolean) => void>()
let stream: EventSource | null = null
let isRefreshing = false
let gathering: ReturnType<typeof setTimeout> | undefined
let isMore = false

/** Calls soon after anything happened at the daemon, until the returned function is called. */
export function onNews(hearer: () => void): () => void {
  hearers.add(hearer)
  open()
  return () => {
    hearers.delete(hearer)
  }
}

/** Whether the daemon is heard; asked of the stream itself, which comes back by its own rules. */
export function useConnected(): boolean {
  const [connected, setConnected] = useState(true)
  useEffect(() => {
    watchers.add(setConnected)
    open()
    return () => {
      watchers.delete(setConnected)
    }
  }, [])
  return connected
}

function open(): void {
  if (stream !== null) return
  if (!isRefreshing) setInterval(gather, REFRESH_MS)
  isRefreshing = true
  stream = new EventSource('/api/events')
  stream.onmessage = gather
  stream.addEventListener('scan', gather)
  stream.onopen = () => {
    tellWatchers(true)
    gather()
  }
  stream.onerror = () => {
    tellWatchers(false)
    // A browser gives up on an answer that is no stream (a daemon just starting); then a new one is opened.
    if (stream?.readyState !== EventSource.CLOSED) return
    stream = null
    setTimeout(open, 2000)
  }
}

function gather(): void {
  if (gathering !== undefined) {
    isMore = true
    return
  }
  for (const hearer of hearers) hearer()
  gathering = setTimeout(() => {
    gathering = undefined
    if (isMore) gather()
    isMore = false
  }, GATHER_MS)
}

function tellWatchers(connected: boolean): void {
  for (const watcher of watchers) watcher(connected)
}
