import { useEffect, useState } from 'preact/hooks'

/** How this browser’s user likes to read quantities. The daemon never hears of it. */
export interface Preferences {
  readonly concentration: 'mg/L' | 'ppm'
  readonly volume: 'L' | 'gal'
  readonly temperature: '°C' | '°F'
}

const KEY = 'preferences'
const DEFAULTS: Preferences = { concentration: 'mg/L', volume: 'L', temperature: '°C' }
const ALLOWED: { readonly [Name in keyof Preferences]: readonly Preferences[Name][] } = {
  concentration: ['mg/L', 'ppm'],
  volume: ['L', 'gal'],
  temperature: ['°C', '°F'],
}
const listeners = new Set<() => void>()

/** What was chosen here; anything that is no choice of ours counts as not chosen. */
export function readPreferences(): Preferences {
  const stored = parse(localStorage.getItem(KEY))
  const pick = <Name extends keyof Preferences>(name: Name): Preferences[Name] =>
    ALLOWED[name].find((allowed) => allowed === stored[name]) ?? DEFAULTS[name]
  return { concentration: pick('concentration'), volume: pick('volume'), temperature: pick('temperature') }
}

export function writePreferences(preferences: Preferences): void {
  localStorage.setItem(KEY, JSON.stringify(preferences))
  for (const listener of listeners) listener()
}

/** The preferences, shown anew when they change. */
export function usePreferences(): Preferences {
  const [preferences, setPreferences] = useState(readPreferences)
  useEffect(() => {
    const listener = () => setPreferences(readPreferences())
    listeners.add(listener)
    return () => {
      listeners.delete(listener)
    }
  }, [])
  return preferences
}

function parse(text: string | null): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(text ?? '{}')
    return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {}
  } catch {
    return {}
  }
}
