import type { JSX } from 'preact'
import { type Preferences, usePreferences, writePreferences } from '../../data/preferences.ts'
import { Choice } from '../../parts/field.tsx'

const same = (values: readonly string[]) => values.map((value) => ({ value, text: value }))

/** Units as this browser’s user likes them; the daemon’s own records never change. */
export function PreferencesForm(): JSX.Element {
  const preferences = usePreferences()
  const set = (part: Partial<Preferences>) => writePreferences({ ...preferences, ...part })
  return (
    <section aria-labelledby="units-title">
      <h2 id="units-title">Units on this screen</h2>
      <p class="quiet">
        For figures and for what you type. Sentences of the daemon, limits, calibration and the printed report keep
        mg/L, L and °C.
      </p>
      <div class="fields">
        <Choice
          label="Concentration"
          value={preferences.concentration}
          onValue={(value) => set({ concentration: value as Preferences['concentration'] })}
          options={same(['mg/L', 'ppm'])}
        />
        <Choice
          label="Volume"
          value={preferences.volume}
          onValue={(value) => set({ volume: value as Preferences['volume'] })}
          options={[
            { value: 'L', text: 'litres' },
            { value: 'gal', text: 'US gallons' },
          ]}
        />
        <Choice
          label="Temperature"
          value={preferences.temperature}
          onValue={(value) => set({ temperature: value as Preferences['temperature'] })}
          options={same(['°C', '°F'])}
        />
      </div>
    </section>
  )
}
