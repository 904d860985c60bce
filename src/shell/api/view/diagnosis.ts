/** What may have gone wrong unseen, for people: looked for in slices, once for all who ask. */

import { diagnose, type Diagnosis as Found } from '../../../core/diagnosis/diagnosis.ts'
import { createSlices } from '../../slices.ts'
import type { Diagnosis } from '../schema/diagnosis.ts'
import type { Site } from '../site.ts'

const CLEAR_SHARE = 0.5

/**
 * One search at a time, kept until the belief moves on: whoever asks meanwhile waits for the same answer, so that asking
 * often costs no more than asking once.
 *
 * @param monoMs a clock that never steps
 */
export function createDiagnosis(site: Site, monoMs: () => number): () => Promise<Diagnosis> {
  let ofMs = Number.NaN
  let found: Promise<Diagnosis> | undefined
  return () => {
    const beliefMs = site.state().core?.history.filter.atMs ?? 0
    if (found !== undefined && ofMs === beliefMs) return found
    ofMs = beliefMs
    found = search(site, monoMs)
    // a search that failed must not be the answer until the next step of the grid
    found.catch(() => {
      ofMs = Number.NaN
    })
    return found
  }
}

async function search(site: Site, monoMs: () => number): Promise<Diagnosis> {
  const { core } = site.state()
  if (!core) return told(undefined)
  const slices = createSlices(monoMs)
  const looking = diagnose(site.settings.core, core.cohorts, core.history)
  for (;;) {
    const step = looking.next()
    if (step.done) return told(step.value)
    await slices.next()
  }
}

function told(found: Found | undefined): Diagnosis {
  if (found === undefined)
    return { text: 'Less than a day is kept so far; there is too little to compare.', explanations: [] }
  const { fromMs, untilMs, nothingShare } = found
  const explanations = found.explanations.map((one) => ({ ...one }))
  return { text: sentence(found), period: { fromMs, untilMs }, nothingShare, explanations }
}

function sentence({ explanations, nothingShare }: Found): string {
  const [first] = explanations
  if (first === undefined || nothingShare > CLEAR_SHARE)
    return 'The recorded days are explained best by nothing out of the ordinary.'
  if (first.share > CLEAR_SHARE) return `One cause stands out: ${first.sentence}`
  return 'Several causes explain the recorded days about as well; check the quickest first.'
}
