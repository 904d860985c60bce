/** The channel: every element drawn on one scale of its own band, so that the banks line up down the page. */

import type { JSX } from 'preact'
import { AIM, type Band, HIGH, LOW, placeOf } from './channel-place.ts'

interface ChannelProps extends Band {
  readonly mgPerL: number
  /** half of the 90 % interval */
  readonly halfWidthMgPerL: number
  readonly laboratoryMgPerL?: number | undefined
  readonly isDoubtful: boolean
  /** the same in words, for whoever does not see the drawing */
  readonly label: string
}

export function Channel(props: ChannelProps): JSX.Element {
  const at = placeOf(props.mgPerL, props)
  const from = placeOf(props.mgPerL - props.halfWidthMgPerL, props)
  const until = placeOf(props.mgPerL + props.halfWidthMgPerL, props)
  const isOutside = props.mgPerL < props.lowMgPerL || props.mgPerL > props.highMgPerL
  return (
    <svg class={`channel${isOutside ? ' is-abnormal' : ''}`} role="img" aria-label={props.label}>
      <rect class="channel-water" x={`${LOW}%`} y="0" width={`${HIGH - LOW}%`} height="100%" />
      <line class="channel-bank" x1={`${LOW}%`} x2={`${LOW}%`} y1="0" y2="100%" />
      <line class="channel-bank" x1={`${HIGH}%`} x2={`${HIGH}%`} y1="0" y2="100%" />
      <line class="channel-aim" x1={`${AIM}%`} x2={`${AIM}%`} y1="0" y2="100%" />
      <line
        class={`channel-interval${props.isDoubtful ? ' is-doubtful' : ''}`}
        x1={`${from}%`}
        x2={`${until}%`}
        y1="50%"
        y2="50%"
      />
      {props.laboratoryMgPerL === undefined ? null : (
        <svg aria-hidden="true" class="channel-mark" x={`${placeOf(props.laboratoryMgPerL, props)}%`} y="50%">
          <path class="channel-laboratory" d="M0 -8 L5 0 L0 8 L-5 0 Z" />
        </svg>
      )}
      <svg aria-hidden="true" class="channel-mark" x={`${at}%`} y="50%">
        {isOutside ? (
          <path
            class="channel-estimate"
            d={props.mgPerL > props.highMgPerL ? 'M-6 -7 L7 0 L-6 7 Z' : 'M6 -7 L-7 0 L6 7 Z'}
          />
        ) : (
          <circle class={`channel-estimate${props.isDoubtful ? ' is-doubtful' : ''}`} r="5.5" />
        )}
      </svg>
    </svg>
  )
}
