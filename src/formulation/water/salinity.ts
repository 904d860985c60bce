/** Conductivity, sodium and chloride: judged by where they end up in water that goes round. */

import { ELEMENT_INDEX } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import {
  type Criterion,
  criterion,
  figureText,
  isMeasured,
  type Level,
  percentText,
  shareToReach,
  type WaterQuestion,
} from './criterion.ts'
import { mgPerLOf } from './water.ts'

/** Conductivity, sodium, chloride, and the two together, each as a criterion of its own. */
export function judgeSalinity(question: WaterQuestion): Criterion[] {
  return [
    judgeConductivity(question),
    judgePassive(question, 'Na'),
    judgePassive(question, 'Cl'),
    judgeTogether(question),
  ]
}

function judgeConductivity(question: WaterQuestion): Criterion {
  const { water } = question
  return criterion(question, ['conductivity', 'mS/cm'], water.conductivityDsPerM, (dsPerM) => {
    const ballast = ballastShare(question)
    const made =
      ballast === undefined
        ? 'what it is made of was not measured in full'
        : `${percentText(ballast)} of its charge is sodium and chloride, the rest is mostly what a crop takes up or acid removes`
    const level: Level = dsPerM < 0.5 ? 'good' : dsPerM < 1.5 ? 'watch' : 'treat'
    const judgedElsewhere = level === 'good' ? '' : '; sodium, chloride and alkalinity below decide'
    return {
      level,
      meaning: `${made}${judgedElsewhere}`,
      remedies: level === 'treat' ? ['Mix with reverse-osmosis water, or look for another source.'] : [],
      figures: ballast === undefined ? {} : { sodiumAndChlorideShare: ballast },
    }
  })
}

/** The part of all charge that no crop asks for. */
function ballastShare({ water }: WaterQuestion): number | undefined {
  if (!isMeasured(water, 'Na', 'Cl', 'Ca', 'Mg') || water.alkalinity === undefined) return undefined
  const meq = (name: 'Na' | 'Cl' | 'Ca' | 'Mg' | 'K' | 'S' | 'NO3-N', charge: number) =>
    charge * water.mmolPerL[ELEMENT_INDEX[name]]!
  const all = [meq('Na', 1), meq('Cl', 1), meq('Ca', 2), meq('Mg', 2), meq('K', 1), meq('S', 2), meq('NO3-N', 1)]
  const sum = all.reduce((total, one) => total + one, Math.max(0, water.alkalinity.meqPerL))
  return sum > 0 ? (meq('Na', 1) + meq('Cl', 1)) / sum : 0
}

/** Up to this part of the water used let go is ordinary upkeep; up to as much as is used is a treatment (ours). */
const LEACHING_ORDINARY = 0.15
const LEACHING_MOST = 1

/**
 * Sodium and chloride are taken up in proportion to what is there (ratio p), so with nothing drained a source of s ends
 * at s/p, and holding it at c takes (s - p c)/(c - s) litres of drain for every litre taken up.
 */
function judgePassive(question: WaterQuestion, name: 'Na' | 'Cl'): Criterion {
  const { water, crop, reverseOsmosis } = question
  const label = name === 'Na' ? 'sodium' : 'chloride'
  const figure = isMeasured(water, name) ? mgPerLOf(water, name) : undefined
  return criterion(question, [label, 'mg/L'], figure, (s) => {
    const c = toMgPerL(name, crop.bands[ELEMENT_INDEX[name]]!.high)
    const p = crop.ratio[name]
    const end = s / p
    const goes = `${crop.name} takes it up at ${figureText(p)} of what stands in the solution, so with nothing drained it ends at ${figureText(end)} mg/L; the band goes to ${figureText(c)}`
    const figures = { sourceMgPerL: s, limitMgPerL: c, uptakeRatio: p, undrainedEndMgPerL: end }
    if (end <= c) return { level: 'good', meaning: `${goes}. It never gets there.`, remedies: [], figures }
    const reverseOsmosisShare = shareToReach(s, p * c, mgPerLOf(reverseOsmosis, name))
    const mixing =
      reverseOsmosisShare === undefined
        ? []
        : [`${percentText(reverseOsmosisShare)} of reverse-osmosis water would hold it there with nothing drained.`]
    const share = reverseOsmosisShare === undefined ? {} : { reverseOsmosisShare }
    if (s >= c) {
      const meaning = `${goes}. The water itself stands above it: no draining holds it`
      return { level: 'refuse', meaning, remedies: ['Not as it is, for this crop.', ...mixing], ...share, figures }
    }
    const leachingFraction = (s - p * c) / (c - s)
    const fills = Math.log((end - s) / (end - c)) / p
    const level =
      leachingFraction <= LEACHING_ORDINARY ? 'watch' : leachingFraction <= LEACHING_MOST ? 'treat' : 'refuse'
    return {
      level,
      meaning: `${goes}. It gets there after ${figureText(fills, 2)} reservoir volumes of make-up water`,
      remedies: [
        `Letting go ${figureText(leachingFraction, 2)} L for every litre the crop takes up holds it at ${figureText(c)} mg/L.`,
        ...mixing,
      ],
      ...share,
      figures: { ...figures, leachingFraction, reservoirVolumesToLimit: fills },
    }
  })
}

function judgeTogether(question: WaterQuestion): Criterion {
  const { water } = question
  const figure = isMeasured(water, 'Na', 'Cl') ? mgPerLOf(water, 'Na') + mgPerLOf(water, 'Cl') : undefined
  return criterion(question, ['sodiumAndChloride', 'mg/L'], figure, (sum) => ({
    level: sum < 50 ? 'good' : 'watch',
    meaning: 'a first warning only; where each of the two ends up is said above',
    remedies: [],
  }))
}
