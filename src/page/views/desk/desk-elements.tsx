import type { JSX } from 'preact'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber } from '../../data/quantity.ts'
import { Channel } from '../../parts/channel.tsx'

interface DeskElement {
  readonly element: string
  readonly mgPerL: number
  readonly lowMgPerL: number
  readonly aimMgPerL: number
  readonly highMgPerL: number
}

/** Calculated elements in the same channel as the reservoir’s, without doubt since nothing was measured. */
export function DeskElements({ elements }: { readonly elements: readonly DeskElement[] }): JSX.Element {
  const { concentration } = usePreferences()
  return (
    <ul class="elements">
      {elements.map(({ element, mgPerL, lowMgPerL, aimMgPerL, highMgPerL }) => {
        const place = mgPerL < lowMgPerL ? 'below' : mgPerL > highMgPerL ? 'above' : 'in'
        const words = `${place} ${tellNumber(lowMgPerL)} to ${tellNumber(highMgPerL)}`
        return (
          <li key={element} class="element">
            <span class="element-name">{element}</span>
            <Channel
              mgPerL={mgPerL}
              lowMgPerL={lowMgPerL}
              aimMgPerL={aimMgPerL}
              highMgPerL={highMgPerL}
              halfWidthMgPerL={0}
              isDoubtful={false}
              label={`${element}: ${tellNumber(mgPerL)} ${concentration}, ${words}`}
            />
            <span class="element-value">
              {tellNumber(mgPerL)} <small class={place === 'in' ? '' : 'is-abnormal'}>{words}</small>
            </span>
          </li>
        )
      })}
    </ul>
  )
}
