import { useEffect, useState } from 'preact/hooks'
import type { DeskChoices } from '../../../shell/api/schema/desk.ts'
import type { Now } from '../../../shell/api/schema/status.ts'
import { NOW_PATH } from '../../data/live.ts'
import { ask } from '../../data/request.ts'
import type { ActChoice } from './act-forms.ts'

interface Option {
  readonly value: string
  readonly text: string
}

/** Nothing to choose from while it is asked for; absent where it cannot be, and is typed. */
type Choices = Readonly<Partial<Record<ActChoice, readonly Option[]>>>

/** What acts may be about at this site. Where it cannot be asked for, names are typed and the daemon says what there is. */
export function useActChoices(stocks: readonly string[]): Choices {
  const [asked, setAsked] = useState<Choices>({ cohort: [], crop: [], probe: [] })
  useEffect(() => {
    Promise.all([ask<Now>(NOW_PATH), ask<DeskChoices>('/api/desk/choices')]).then(
      ([now, desk]) => setAsked(choicesOf(now, desk)),
      () => setAsked({}),
    )
  }, [])
  return { ...asked, stock: stocks.map(named) }
}

function choicesOf({ cohorts, probes }: Now, { crops }: DeskChoices): Choices {
  return {
    cohort: cohorts
      .filter(({ harvestedAtMs }) => harvestedAtMs === undefined)
      .map(({ id, plants, crop }) => ({ value: id, text: `${id}: ${plants} plants of ${crop}` })),
    crop: crops.map(({ id, name }) => ({ value: id, text: name })),
    probe: probes.map(({ probe }) => named(probe)),
  }
}

function named(name: string): Option {
  return { value: name, text: name }
}
