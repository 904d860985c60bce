// Why a dose is as it is, in a sentence a grower understands. The figures are those that the choice was made with.

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { AcidityNeed } from './acidity.ts'
import type { Dosable } from './dosable.ts'
import { DAY_MS, FED_SHARE, type LevelPath } from './level-path.ts'
import type { PlanInput } from './plan-input.ts'
import { figure, milligrams, millilitres, shareInWords, spoken } from './wording.ts'

/** Differences below this part of the aim are called none. */
const AT_AIM_SHARE = 0.01
/** Below this confidence the doubt is named as the reason for a small share. */
const DOUBTFUL = 0.75
/** A dose within this part of its limit was held by it. */
const AT_LIMIT_SHARE = 0.999

/** The element that most of the weighted need met by this stock belongs to. */
export function chiefElement(paths: readonly LevelPath[], dosable: Dosable, volumeMl: number): LevelPath | undefined {
  let chief: LevelPath | undefined
  let most = 0
  for (let e = 0; e < ELEMENT_COUNT; e++) {
    const path = paths[e]!
    const brought = dosable.mmolPerLPerMl[e]! * volumeMl
    const need = Math.max(0, (path.targetMmolPerL ?? 0) - path.undosedMmolPerL)
    // What nobody needs still names a stock that brings nothing else: a ten-thousandth of its weight.
    const met = path.targetMmolPerL === undefined ? 0 : Math.min(need, brought) + 1e-4 * brought
    const weighted = Math.sqrt(path.weight) * met
    if (weighted > most) [chief, most] = [path, weighted]
  }
  return chief
}

/** `potassium is about 172 ± 14 mg/L, aim 200; the crop takes 0.9 mg/L an hour; a sixth of the gap a day …` */
export function nutrientReason(input: PlanInput, chief: LevelPath, dosable: Dosable, volumeUl: number): string {
  const { element, presentMmolPerL, sdMmolPerL, band } = chief
  const level = `${spoken(element)} is about ${milligrams(element, presentMmolPerL)} ± ${milligrams(element, sdMmolPerL, 2)} mg/L, aim ${milligrams(element, band.aim)}`
  const limit =
    volumeUl >= AT_LIMIT_SHARE * dosable.maxUl
      ? `; held at the ${millilitres(dosable.maxUl)} mL that the limits leave`
      : ''
  return `${level}; ${uptakeClause(input, chief)}; ${gapClause(input, chief)}${limit}.`
}

function uptakeClause(input: PlanInput, path: LevelPath): string {
  const at = input.bands.indexOf(path.band)
  const hours = input.forecast.intervalMs / 3_600_000
  const perHour = (mmol: number) => milligrams(path.element, mmol / input.estimate.volumeL / hours, 2)
  const taken = input.forecast.uptakeMmol[at]!
  const brought = input.forecast.makeUpMmol[at]!
  const crop = taken > 0 ? `the crop takes ${perHour(taken)} mg/L an hour` : 'the crop takes none now'
  return brought > 0.1 * Math.abs(taken) ? `${crop} and make-up water brings ${perHour(brought)}` : crop
}

function gapClause(input: PlanInput, path: LevelPath): string {
  const { band, presentMmolPerL, targetMmolPerL, protectedMmolPerL, share, element } = path
  const gap = band.aim - presentMmolPerL
  if (path.isLost) {
    const percent = figure((100 * path.sdMmolPerL) / band.aim, 2)
    return `known only to ± ${percent} % of its aim, so no gap is closed and ${figure(100 * FED_SHARE)} % of what the crop should take is replaced until a laboratory sample tells more`
  }
  const shareOfDay = 1 - (1 - share) ** (DAY_MS / input.forecast.intervalMs)
  if (Math.abs(gap) < AT_AIM_SHARE * band.aim) return 'it stands at its aim, so this replaces what is taken'
  if (gap < 0) return `above its aim, so ${shareInWords(shareOfDay)} of the surplus a day is left to uptake`
  if (targetMmolPerL === protectedMmolPerL && protectedMmolPerL > presentMmolPerL + share * gap) {
    const { marginSds } = input.settings.planning
    const sds = `${figure(marginSds, 2)} standard ${marginSds === 1 ? 'deviation' : 'deviations'}`
    return `raised to ${milligrams(element, protectedMmolPerL)} at once, which keeps ${sds} above the low edge of ${milligrams(element, band.low)}`
  }
  return `${shareInWords(shareOfDay)} of the gap a day${doubtClause(input, path.confidence)}`
}

function doubtClause(input: PlanInput, confidence: number): string {
  if (confidence >= DOUBTFUL) return ''
  if (input.sampleAgeDays === undefined) return ' because no laboratory value has come yet'
  const days = Math.round(input.sampleAgeDays)
  return days < 1
    ? ' because the estimate is still in doubt'
    : ` because the last laboratory value is ${days} ${days === 1 ? 'day' : 'days'} old`
}

/** Litres of make-up and their alkalinity first, since that is what most acid is for. */
export function acidReason(input: PlanInput, need: AcidityNeed): string {
  const { makeUpL } = input.forecast
  const { ph } = input.estimate
  const water =
    makeUpL > 0
      ? `${figure(makeUpL, 2)} L of make-up water at ${figure(need.makeUpMeq / makeUpL, 2)} meq/L brings ${figure(need.makeUpMeq, 2)} meq of alkalinity`
      : 'no make-up water is expected'
  const crop = `the crop ${need.cropMeq >= 0 ? 'adds' : 'takes'} ${figure(Math.abs(need.cropMeq), 2)} meq`
  const stand = ph === undefined ? 'pH is not known' : `pH is ${figure(ph, 3)}, aim ${figure(input.phBand.aim, 3)}`
  const trim = need.trimMeq === 0 ? 'no trim' : `${figure(Math.abs(need.trimMeq), 2)} meq of it trims that`
  return `${water}, ${crop}; ${stand}, ${trim}.`
}

/** The same for base: pH stands first, since nothing else calls for base. */
export function baseReason(input: PlanInput, need: AcidityNeed): string {
  const { ph } = input.estimate
  const short = figure(Math.max(0, -need.gapMeqPerL), 2)
  return `pH is ${figure(ph ?? Number.NaN, 3)}, at or below the low edge of ${figure(input.phBand.low, 3)}; alkalinity is ${short} meq/L short of its aim; ${acidReason(input, need)}`
}
