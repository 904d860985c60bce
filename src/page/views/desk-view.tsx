/** The desk: water, recipe, stock tanks, amendment; solved again as amounts are moved. Needs no pump at all. */

import type { FunctionComponent, JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { DeskChoices } from '../../shell/api/schema/desk.ts'
import { useLive } from '../data/live.ts'
import { Failure } from '../parts/notice.tsx'
import { AmendDesk } from './desk/amend-desk.tsx'
import { RecipeDesk } from './desk/recipe-desk.tsx'
import { StocksDesk } from './desk/stocks-desk.tsx'
import { WaterDesk } from './desk/water-desk.tsx'

export interface DeskProps {
  readonly choices: DeskChoices
}

const PARTS: readonly { readonly name: string; readonly title: string; readonly Part: FunctionComponent<DeskProps> }[] =
  [
    { name: 'water', title: 'Judge a water', Part: WaterDesk },
    { name: 'recipe', title: 'Make a recipe', Part: RecipeDesk },
    { name: 'stocks', title: 'Stock tanks and batch cards', Part: StocksDesk },
    { name: 'amend', title: 'Amend a used solution', Part: AmendDesk },
  ]

export function DeskView(): JSX.Element {
  const [name, setName] = useState('recipe')
  const { value: choices, failure } = useLive<DeskChoices>('/api/desk/choices')
  return (
    <>
      <fieldset class="actions no-print">
        <legend>At the desk</legend>
        {PARTS.map((part) => (
          <button key={part.name} type="button" aria-pressed={part.name === name} onClick={() => setName(part.name)}>
            {part.name === name ? '✓ ' : ''}
            {part.title}
          </button>
        ))}
      </fieldset>
      <Failure lines={choices === null ? failure : []} />
      {choices === null
        ? null
        : PARTS.filter((part) => part.name === name).map(({ name: key, Part }) => <Part key={key} choices={choices} />)}
    </>
  )
}
