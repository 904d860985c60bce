/** What comes in small amounts, and disinfectants. */

import { ELEMENT_INDEX, type ElementName } from '../../chemistry/element.ts'
import { writeForm } from '../../chemistry/form.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import {
  type Criterion,
  criterion,
  figureText,
  isMeasured,
  percentText,
  shareToReach,
  type WaterQuestion,
} from './criterion.ts'
import type { CriterionName } from './guide.ts'
import { mgPerLOf } from './water.ts'

/** Sulfate, nitrate, trace elements, fluoride and disinfectants, each as a criterion of its own. */
export function judgeTraces(question: WaterQuestion): Criterion[] {
  return [
    judgeCounted(question, 'S', 'sulfate'),
    judgeCounted(question, 'NO3-N', 'nitrate'),
    judgeCounted(question, 'B', 'boron'),
    judgeIron(question),
    judgeCounted(question, 'Mn', 'manganese'),
    judgeCounted(question, 'Zn', 'zinc'),
    judgeCounted(question, 'Cu', 'copper'),
    judgeFluoride(question),
    judgeChlorine(question),
    judgeChloramine(question),
  ]
}

/** Advice beside the share of reverse-osmosis water. */
const ASIDE: Readonly<Partial<Record<CriterionName, string>>> = {
  boron: 'Reverse osmosis lets through a good part of boron at neutral pH: have the mixture measured.',
  manganese: 'An oxidising filter (manganese greensand) takes it out.',
  zinc: 'Galvanised pipe, tank or roof? Replace it.',
  copper: 'Copper pipe with soft, sour water? Replace it, or let it run first.',
}

/** Nutrients: what the water brings is counted in; only beyond the band it is trouble. */
function judgeCounted(question: WaterQuestion, name: ElementName, label: CriterionName): Criterion {
  const { water, crop, reverseOsmosis } = question
  const form = name === 'S' ? 'SO4' : undefined
  const unit = form === undefined ? (name === 'NO3-N' ? 'mg/L NO3-N' : 'mg/L') : 'mg/L SO4'
  const present = mgPerLOf(water, name)
  const figure = isMeasured(water, name) ? (form === undefined ? present : writeForm(form, present)) : undefined
  return criterion(question, [label, unit], figure, () => {
    const band = crop.bands[ELEMENT_INDEX[name]]!
    const [aim, high] = [toMgPerL(name, band.aim), toMgPerL(name, band.high)]
    const figures = { elementMgPerL: present, aimMgPerL: aim, highMgPerL: high }
    const of = `${figureText(present)} mg/L ${name} against an aim of ${figureText(aim)} and a band up to ${figureText(high)}`
    if (present <= aim) return { level: 'good', meaning: `${of}: counted in`, remedies: [], figures }
    const reverseOsmosisShare = shareToReach(present, aim, mgPerLOf(reverseOsmosis, name))
    const share = reverseOsmosisShare === undefined ? {} : { reverseOsmosisShare }
    const mixing =
      reverseOsmosisShare === undefined
        ? []
        : [`${percentText(reverseOsmosisShare)} of reverse-osmosis water brings it to the aim.`]
    const aside = ASIDE[label] === undefined ? [] : [ASIDE[label]]
    if (present <= high) {
      const meaning = `${of}: enough of it without any salt, and what the crop leaves adds up`
      return { level: 'watch', meaning, remedies: [], figures }
    }
    return { level: 'treat', meaning: `${of}: too much`, remedies: [...mixing, ...aside], ...share, figures }
  })
}

function judgeIron(question: WaterQuestion): Criterion {
  const { water } = question
  return criterion(question, ['iron', 'mg/L'], isMeasured(water, 'Fe') ? mgPerLOf(water, 'Fe') : undefined, (iron) => {
    const meaning = 'without a chelate it turns to rust in aerated water: it feeds nothing and is not counted in'
    if (iron < 0.3) return { level: 'good', meaning, remedies: [] }
    const remedies = ['Aerate in a tank of its own, let it settle and filter, before it meets emitters or acid.']
    return { level: iron < 1 ? 'watch' : 'treat', meaning, remedies }
  })
}

function judgeFluoride(question: WaterQuestion): Criterion {
  return criterion(question, ['fluoride', 'mg/L'], question.water.fluorideMgPerL, (fluoride) => ({
    level: fluoride < 0.75 ? 'good' : 'watch',
    meaning: fluoride < 0.75 ? 'below what sensitive plants show' : 'sensitive ornamental plants burn at the leaf tips',
    remedies: fluoride < 0.75 ? [] : ['Keep pH above 6 for sensitive plants, or mix with reverse-osmosis water.'],
  }))
}

/** Ascorbic acid (176.12 g/mol) takes up one molecule of chlorine (70.90 g/mol) each. */
const ASCORBIC_PER_CHLORINE = 176.12 / 70.9
/** Cautions: see the label and a licensed professional where a main is near. */
const NEVER_ACIDIFY_FIRST = 'Remove it before any acid goes in: acid with hypochlorite gives off chlorine gas.'

function judgeChlorine(question: WaterQuestion): Criterion {
  return criterion(question, ['chlorine', 'mg/L Cl2'], question.water.chlorineMgPerL, (chlorine) => {
    if (chlorine < 0.5) return { level: 'good', meaning: 'gone from aerated water within hours', remedies: [] }
    const remedies = [
      'Let it stand open or aerate it for a day, or use a carbon filter.',
      ascorbicText(chlorine),
      NEVER_ACIDIFY_FIRST,
    ]
    return { level: chlorine < 2 ? 'watch' : 'treat', meaning: 'airs off; until then it harms roots', remedies }
  })
}

function judgeChloramine(question: WaterQuestion): Criterion {
  return criterion(question, ['chloramine', 'mg/L Cl2'], question.water.chloramineMgPerL, (chloramine) => {
    if (chloramine < 0.5) return { level: 'good', meaning: 'little', remedies: [] }
    const remedies = [
      'Use a catalytic carbon filter; standing does not help.',
      ascorbicText(chloramine),
      NEVER_ACIDIFY_FIRST,
    ]
    const meaning = 'stays in aerated water for days and browns roots where water goes round'
    return { level: 'treat', meaning, remedies }
  })
}

function ascorbicText(chlorineMgPerL: number): string {
  const gPer1000L = ASCORBIC_PER_CHLORINE * chlorineMgPerL
  return `Or ${figureText(gPer1000L, 2)} g of ascorbic acid per 1000 L takes it up at once.`
}
