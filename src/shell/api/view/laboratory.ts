/** Reports as people look at them: what was read, what it would do, what came of the earlier ones. */

import { ELEMENTS, isElementName } from '../../../chemistry/element.ts'
import type { Estimate } from '../../../core/estimate/summary.ts'
import { takeLaboratory } from '../../../core/observe.ts'
import type { CoreState } from '../../../core/state.ts'
import type { Act, LaboratoryResult, SpotReading } from '../../../reservoir/input.ts'
import { laboratoryPreview } from '../../../reservoir/laboratory-preview.ts'
import type { ReadBottle } from '../../laboratory-upload.ts'
import type { LaboratoryList, LaboratoryPreview } from '../schema/laboratory.ts'
import type { Site } from '../site.ts'
import { beliefAt, caughtUp } from './belief.ts'

/** What a report says and would do; nothing is taken. A sentence where the loop would refuse it. */
export async function previewOf(
  site: Site,
  bottle: ReadBottle,
): Promise<LaboratoryPreview | { readonly refused: string }> {
  const { core } = site.state()
  if (!core) return { refused: 'the reservoir has not been started yet' }
  const { result, sample, verdict, labels, id } = bottle
  const taken = takeLaboratory(core, result, site.nowMs())
  if (taken.kind === 'refused') return { refused: taken.why }
  const preview = laboratoryPreview(site.settings, site.state(), result)
  const heldBecause = preview.kind === 'preview' ? preview.heldBecause : []
  const judged = verdict.kind === 'suspect' ? [verdict.why, ...verdict.explanations] : verdict.remarks
  const doubts = [...judged, ...heldBecause]
  const { balancePercent } = verdict.plausibility
  return {
    ...{ id, isKnown: isKnown(core, id), samples: [...labels], doubts: [...doubts] },
    values: sample.values.map(({ element, asWritten, ...value }) => ({
      ...{ element, asWritten },
      ...('belowMgPerL' in value ? { belowMgPerL: value.belowMgPerL } : { mgPerL: value.mgPerL }),
    })),
    ...figuresOf(result),
    noted: sample.noted.map(({ analyte, asWritten, why }) => ({ analyte, asWritten, why })),
    verdict: verdict.kind === 'suspect' || heldBecause.length > 0 ? 'suspect' : 'plausible',
    ...(Number.isFinite(balancePercent) ? { balancePercent } : {}),
    effects: effectsOf(result, {
      atSampling: beliefAt(site, core, result.sampledAtMs, [id]),
      before: await caughtUp(site, core),
      after: await caughtUp(site, taken.state),
    }),
    text: `${sample.values.length} values of ${sample.label} read; nothing is taken yet.`,
  }
}

function isKnown(core: CoreState, id: string): boolean {
  const steps = [core.open, ...core.history.stretches.flatMap((stretch) => stretch.steps)]
  return steps.some((step) => step.laboratory.some((report) => report.id === id))
}

function figuresOf({ conductivityDsPerM, ph, alkalinityMeqPerL }: LaboratoryResult) {
  return {
    ...(conductivityDsPerM === undefined ? {} : { conductivityDsPerM }),
    ...(ph === undefined ? {} : { ph }),
    ...(alkalinityMeqPerL === undefined ? {} : { alkalinityMeqPerL }),
  }
}

interface Beliefs {
  readonly atSampling: Estimate | undefined
  readonly before: Estimate
  readonly after: Estimate
}

function effectsOf(result: LaboratoryResult, { atSampling, before, after }: Beliefs): LaboratoryPreview['effects'] {
  return ELEMENTS.map((element) => {
    const value = result.values.find((one) => one.element === element)
    const mgPerL = value && 'mgPerL' in value ? value.mgPerL : undefined
    return {
      element,
      ...(atSampling ? { atSamplingMgPerL: atSampling.elements[element].mgPerL } : {}),
      ...(mgPerL === undefined ? {} : { laboratoryMgPerL: mgPerL }),
      beforeMgPerL: before.elements[element].mgPerL,
      beforeSdMgPerL: before.elements[element].sdMgPerL,
      afterMgPerL: after.elements[element].mgPerL,
      afterSdMgPerL: after.elements[element].sdMgPerL,
    }
  })
}

/** Every report given, with what was believed of its bottle’s moment without it. */
export async function laboratoryList(site: Site): Promise<LaboratoryList> {
  const records = await site.records(KINDS, { fromMs: 0, untilMs: site.nowMs() })
  const reports = new Map<string, LaboratoryList['reports'][number]>()
  const samples: LaboratoryList['samples'] = []
  const spots: LaboratoryList['spots'] = []
  const change = (id: string, changes: Partial<LaboratoryList['reports'][number]>): void => {
    const report = reports.get(id)
    if (report) reports.set(id, { ...report, ...changes })
  }
  for (const record of records) {
    if (record.kind === 'laboratory') reports.set(record.result.id, reportOf(site, record))
    else if (record.kind === 'laboratory-held')
      reports.set(record.result.id, { ...reportOf(site, record), state: 'held', why: [...record.why] })
    else if (record.kind === 'laboratory-withdrawn') change(record.id, { state: 'withdrawn', why: [record.by] })
    else if (record.kind === 'spot') spots.push(spotOf(record))
    else if (record.kind === 'act') samples.push(...drawnIn(record))
    else if (record.decision === 'accept')
      change(record.id, { state: 'accepted', why: [`${record.by}: ${record.reason}`] })
  }
  return {
    reports: [...reports.values()].toSorted((one, other) => other.sampledAtMs - one.sampledAtMs),
    samples: samples.toReversed(),
    spots: spots.toReversed(),
  }
}

function drawnIn({ by, act }: { readonly by: string; readonly act: Act }): LaboratoryList['samples'] {
  return act.act === 'noted' && act.about === 'sample' ? [{ atMs: act.doneAtMs, by, note: act.text }] : []
}

const KINDS = ['laboratory', 'laboratory-held', 'laboratory-decided', 'laboratory-withdrawn', 'act', 'spot'] as const

interface Spot {
  readonly by: string
  readonly reading: SpotReading
}

function spotOf({ by, reading }: Spot): LaboratoryList['spots'][number] {
  const { quantity, value, sd, readAtMs } = reading
  const unit = quantity === 'ph' ? '' : quantity === 'conductivity' ? 'mS/cm' : 'mg/L'
  return { atMs: readAtMs, by, quantity, value, unit, ...(sd === undefined ? {} : { sd }) }
}

interface Given {
  readonly atMs: number
  readonly by: string
  readonly result: LaboratoryResult
}

function reportOf(site: Site, { atMs, by, result }: Given): LaboratoryList['reports'][number] {
  const { core } = site.state()
  const belief = core ? beliefAt(site, core, result.sampledAtMs, [result.id]) : undefined
  return {
    ...{ id: result.id, sampledAtMs: result.sampledAtMs, receivedAtMs: atMs, by, state: 'accepted', why: [] },
    values: result.values.map((value) => {
      const estimate = isElementName(value.element) ? belief?.elements[value.element] : undefined
      return {
        element: value.element,
        ...('belowMgPerL' in value ? { belowMgPerL: value.belowMgPerL } : { mgPerL: value.mgPerL }),
        ...(estimate ? { estimateMgPerL: estimate.mgPerL, estimateSdMgPerL: estimate.sdMgPerL } : {}),
      }
    }),
  }
}
