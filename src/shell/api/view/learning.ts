/** What the site has taught, factor by factor, with what each report made of it. */

import { factorHistory, type LearnedFactor, learnedFactors, learnedText } from '../../../core/learning/learned.ts'
import type { Learning } from '../schema/diagnosis.ts'
import type { Site } from '../site.ts'

export async function learningView(site: Site): Promise<Learning> {
  const { core } = site.state()
  const said = await site.records(['instructed'], { fromMs: 0, untilMs: site.nowMs() })
  const resets = said
    .filter(({ instruction }) => instruction.instruction === 'reset-learning')
    .map(({ atMs, by, reason }) => ({ atMs, by, reason }))
    .toReversed()
  if (!core) return { text: 'Nothing was started yet.', factors: [], resets }
  const settings = site.settings.core
  const factors = learnedFactors(settings, core.history.filter)
  return {
    text: learnedText(factors, core.learned),
    factors: factors.map((factor) => ({
      ...toldFactor(factor),
      history: factorHistory(settings, core.learned, factor.id).map((mark) => ({ ...mark })),
    })),
    resets,
  }
}

function toldFactor(factor: LearnedFactor): Omit<Learning['factors'][number], 'history'> {
  const { id, kind, value, low90, high90, priorLow90, priorHigh90, isLearned } = factor
  return {
    ...{ id, kind, name: nameOf(factor), unit: id === 'ph-offset' ? 'pH' : 'share', isLearned },
    now: { value, low90, high90 },
    prior: { low90: priorLow90, high90: priorHigh90 },
  }
}

function nameOf({ id, kind }: LearnedFactor): string {
  const what = id.split(' ').slice(1).join(' ')
  switch (kind) {
    case 'growth':
      return 'growth of the crop'
    case 'uptake':
      return `uptake of ${what}`
    case 'delivery':
      return `strength of the ${what} bottle`
    case 'water':
      return 'water that the crop draws'
    case 'doubt':
      return 'doubt about growth and uptake, against the crops file'
    case 'probe':
      return id === 'ph-offset' ? 'pH probe, offset' : 'EC probe, against the model'
  }
}
