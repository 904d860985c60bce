import type { JSX } from 'preact'
import type { ElementNow } from '../../shell/api/schema/status.ts'
import { tellDistance } from '../data/moment.ts'
import type { Preferences } from '../data/preferences.ts'
import { tellInterval, tellNumber } from '../data/quantity.ts'
import { Channel } from './channel.tsx'

interface ElementRowProps {
  readonly element: ElementNow
  readonly nowMs: number
  readonly preferences: Preferences
}

/** One element: its name, its place in the channel of its band, and the same in figures. */
export function ElementRow({ element, nowMs, preferences }: ElementRowProps): JSX.Element {
  const { band, laboratory } = element
  const halfWidth = (element.high90MgPerL - element.low90MgPerL) / 2
  const span = band === undefined ? 0 : band.highMgPerL - band.lowMgPerL
  const value = `${tellInterval(element.mgPerL, halfWidth, span)} ${preferences.concentration}`
  const place = placeInWords(element)
  const sample =
    laboratory && `laboratory ${tellNumber(laboratory.mgPerL)}, ${tellDistance(laboratory.sampledAtMs, nowMs)}`
  return (
    <li class="element">
      <span class="element-name">
        {element.element}
        <small>{element.name}</small>
      </span>
      {band === undefined ? (
        <span class="channel quiet">no band for this crop</span>
      ) : (
        <Channel
          {...band}
          mgPerL={element.mgPerL}
          halfWidthMgPerL={halfWidth}
          laboratoryMgPerL={laboratory?.mgPerL}
          isDoubtful={element.isDoubtful}
          label={`${element.name}: ${value}, ${place}${sample === undefined ? '' : `; ${sample}`}`}
        />
      )}
      <span class="element-value">
        {value}
        <small class={element.place === 'in-band' || element.place === 'no-band' ? '' : 'is-abnormal'}>{place}</small>
        {sample === undefined ? null : <small>◇ {sample}</small>}
      </span>
    </li>
  )
}

function placeInWords({ place, band, isDoubtful }: ElementNow): string {
  if (band === undefined || place === 'no-band') return 'no band'
  const edges = `${tellNumber(band.lowMgPerL)} to ${tellNumber(band.highMgPerL)}`
  const doubt = isDoubtful ? ', known too little' : ''
  if (place === 'low') return `◀ below ${edges}${doubt}`
  if (place === 'high') return `▶ above ${edges}${doubt}`
  return `in ${edges}${doubt}`
}
