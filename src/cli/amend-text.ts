/** An amendment at 80 columns, without colour. */

import type { AmendedView, AmendOptionView, HeldView } from './amend-schema.ts'
import { compact, folded, shown } from './desk-text.ts'
import { bar } from './recipe-text.ts'

/** Why a report is held, and what to do about it. */
export function heldText(view: HeldView): string {
  const { sample, why, explanations } = view
  const guesses = explanations.flatMap((text) => folded(text, '  - ', '    '))
  const none =
    guesses.length > 0
      ? []
      : folded('No mistake of form explains it, nor two together: an ion may be missing, or a unit be wrong.', '  ')
  const lines = [
    ...folded(`The report of ${sample} is held, and nothing was reckoned.`),
    ...folded(why, '  '),
    ...guesses,
    ...none,
    ...folded('Ask the laboratory, correct the file, or say --accept to go on as it stands.'),
  ]
  return `${lines.join('\n')}\n`
}

/** What was advised with its amounts, element by element, and the other ways beside it. */
export function amendedText(view: AmendedView): string {
  const advised = view.options.find(({ way }) => way === view.advised)!
  const lines = [
    ...heading(view),
    '',
    ...folded(`${TITLES[view.advised]}: ${view.advice}`),
    ...renewalLines(advised),
    ...amountLines(advised),
    ...folded(`EC to expect once mixed: ${advised.conductivityDsPerM.toFixed(2)} mS/cm.`, '  '),
    '',
    ...elementLines(view),
    '',
    ...noteLines(view),
    ...comparison(view),
    ...betterLines(view),
    '',
    ...view.remarks.flatMap((remark) => folded(remark)),
    ...view.cautions.flatMap((caution) => folded(caution)),
  ]
  return `${lines.join('\n')}\n`
}

const TITLES = {
  'amend-only': 'AMEND',
  'renew-and-amend': 'RENEW A PART, THEN AMEND',
  'start-afresh': 'START AFRESH',
} as const

function heading({ sample, sampledAt, crop, volumeL, balancePercent, calculatedDsPerM, measuredDsPerM }: AmendedView) {
  const when = sampledAt === undefined ? '' : `, sampled ${sampledAt.replace('T', ' ')}`
  const percent = `${balancePercent < 0 ? '-' : '+'}${Math.abs(balancePercent).toFixed(1)} %`
  const measured = measuredDsPerM === undefined ? '' : `, measured ${measuredDsPerM.toFixed(2)}`
  return [
    ...folded(`${sample}${when}: ${compact(volumeL)} L of ${crop}`),
    ...folded(`Charge balance ${percent}; EC by composition ${calculatedDsPerM.toFixed(2)}${measured} mS/cm`),
  ]
}

function renewalLines({ way, slices, sliceShare, dischargeL, waterL, acidMeq }: AmendOptionView): string[] {
  if (way === 'amend-only') return []
  const acid = acidMeq > 0 ? ` The new water needs ${shown(acidMeq / 1000)} eq of acid, diluted, before the salts.` : ''
  if (way === 'start-afresh') return folded(`Let all of it go and fill ${shown(waterL)} L of new water.${acid}`, '  ')
  const times =
    slices === 1
      ? `Let ${shown(dischargeL)} L go and fill up with new water`
      : `${slices} times, a day apart: let ${shown(dischargeL / slices)} L (${percentOf(sliceShare)}) go, fill up with new water`
  return folded(`${times}; then weigh in.${acid}`, '  ')
}

function amountLines({ amounts }: AmendOptionView): string[] {
  if (amounts.length === 0) return ['  nothing to add']
  const rows = amounts.map(({ name, measured, exact, unit, isTooCoarse }) => {
    const coarse = isTooCoarse ? `  (too little: ${shown(exact)})` : ''
    return `  ${String(measured).padStart(9)} ${unit.padEnd(2)}  ${name}${coarse}`
  })
  const coarse = amounts.some(({ isTooCoarse }) => isTooCoarse)
  return [...rows, ...(coarse ? folded(TOO_LITTLE, '  ') : [])]
}

function elementLines({ notes }: AmendedView): string[] {
  const head = `  ${'mg/L'.padEnd(6)}${['was', 'ends', 'low', 'aim', 'high'].map((one) => one.padStart(7)).join('')}`
  const rows = notes.map((note) => {
    const { element, usedMgPerL, isMeasured, endMgPerL, lowMgPerL, aimMgPerL, highMgPerL, verdict } = note
    const was = isMeasured ? compact(usedMgPerL) : '-'
    const figures = [was, ...[endMgPerL, lowMgPerL, aimMgPerL, highMgPerL].map(compact)]
    const sign = verdict === 'in band' ? ' ' : verdict === 'brought in' ? '+' : '!'
    return `${sign} ${element.padEnd(6)}${figures.map((one) => one.padStart(7)).join('')}  ${barOf(note)}`
  })
  return [head, ...rows, '  + brought into its band   ! outside it   [ band ]  | aim  * where it ends']
}

const TOO_LITTLE =
  'Too little for the scale: weigh a hundred times as much into a litre of water and measure out 10 mL of it.'

/** The same bar as in a recipe. */
function barOf({ element, endMgPerL, ...band }: AmendedView['notes'][number]): string {
  const unused = { waterMgPerL: 0, fromSalts: [], totalMmolPerL: 0, place: 'in-band' as const }
  return bar({ element, totalMgPerL: endMgPerL, ...band, ...unused })
}

function noteLines({ notes }: AmendedView): string[] {
  const told = notes.filter(({ text }) => text !== '')
  const quiet = notes.filter(({ text }) => text === '').map(({ element }) => element)
  return [
    ...told.flatMap(({ element, text }) => folded(text, `  ${element.padEnd(6)} `)),
    ...(quiet.length > 0 ? folded(`${quiet.join(', ')} stand in band and are left alone.`, '  ') : []),
    '',
  ]
}

function comparison({ options, advised }: AmendedView): string[] {
  const head = `  ${'ways there'.padEnd(24)}${['salt g', 'water L', 'discharge L'].map((one) => one.padStart(12)).join('')}  out of band`
  const rows = options.map(({ way, saltG, waterL, dischargeL, renewalShare, outOfBand }) => {
    const name = way === 'renew-and-amend' ? `renew ${percentOf(renewalShare)}, amend` : way.replace('-', ' ')
    const figures = [shown(saltG), shown(waterL), shown(dischargeL)].map((one) => one.padStart(12)).join('')
    const start = `${way === advised ? '>' : ' '} ${name.padEnd(24)}${figures}  `
    return folded(
      outOfBand.length === 0 ? 'nothing' : outOfBand.map(({ element, kind }) => `${element} ${kind}`).join(', '),
      start,
    )
  })
  return [head, ...rows.flat()]
}

function betterLines({ better }: AmendedView): string[] {
  return better.flatMap(({ name, grams, cures, lifts }) => {
    const lifted = lifts.map(({ element, mgPerL }) => `${element} to ${compact(mgPerL)} mg/L`).join(', ')
    const does = [
      cures.length > 0 ? `brings ${cures.join(', ')} into band` : '',
      lifted === '' ? '' : `lifts ${lifted}`,
    ]
    const said = does.filter((one) => one !== '').join(' and ') || 'leaves much less out of band'
    return folded(`${name} on the shelf (${compact(grams)} g of it) ${said}, with nothing let go.`, '  Better: ', '  ')
  })
}

function percentOf(share: number): string {
  return `${(100 * share).toFixed(share < 0.1 ? 1 : 0)} %`
}
