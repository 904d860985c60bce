import { type Preferences, usePreferences } from './preferences.ts'
import { fahrenheitOf, gallonsOf, tellNumber } from './quantity.ts'

const LITRES = /(\d+(?:\.\d+)?)(\s)L(?![A-Za-z0-9])/g
const CELSIUS = /(-?\d+(?:\.\d+)?)(\s)°C/g

/**
 * A sentence of the daemon, which tells mg/L, L and °C, in the units that were chosen for this screen.
 *
 * @param quoted what a person wrote and the sentence repeats: those words stay as they are
 */
export function inUnitsOf(sentence: string, preferences: Preferences, quoted?: string): string {
  if (quoted === undefined || quoted === '') return converted(sentence, preferences)
  return sentence
    .split(quoted)
    .map((part) => converted(part, preferences))
    .join(quoted)
}

function converted(sentence: string, { concentration, volume, temperature }: Preferences): string {
  let told = sentence
  if (concentration !== 'mg/L') told = told.replaceAll(/\bmg\/L\b/g, concentration)
  if (volume !== 'L')
    told = told.replaceAll(LITRES, (_all, litres, space) => `${tellNumber(gallonsOf(Number(litres)))}${space}${volume}`)
  if (temperature !== '°C')
    told = told.replaceAll(
      CELSIUS,
      (_all, celsius, space) => `${fahrenheitOf(Number(celsius)).toFixed(1)}${space}${temperature}`,
    )
  return told
}

/** The same with the preferences of this browser; told anew when they change. */
export function useWords(): (sentence: string, quoted?: string) => string {
  const preferences = usePreferences()
  return (sentence, quoted) => inUnitsOf(sentence, preferences, quoted)
}
