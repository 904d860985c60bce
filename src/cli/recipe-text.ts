/** A recipe on a terminal of 80 columns, without colour. */

import { CHARGE } from '../chemistry/alkalinity.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { ElementLine, RecipeSheet, SaltLine } from '../formulation/recipe/recipe-sheet.ts'
import { type ElementUnit, elementIn } from '../formulation/units/element-unit.ts'
import { inUnit } from '../formulation/units/quantity.ts'
import type { Unit } from '../formulation/units/unit.ts'
import { compact, folded, shown } from './desk-text.ts'
import type { PreparedRecipe } from './recipe.ts'
import { ACID_CAUTION, DISCHARGE_CAUTION, SALT_CAUTION } from './recipe-caution.ts'

export interface TextWish {
  readonly unit: Unit
  readonly elementUnit: ElementUnit
}

/** The page that `tarnward recipe` prints, amounts and elements in the units asked for. */
export function recipeText(prepared: PreparedRecipe, wish: TextWish): string {
  const { crop, stage, water, volumeL, sheet, notes } = prepared
  const at = stage === 'full' ? '' : `, ${stage} plants`
  const lines = [
    ...folded(`${crop.name}${at}, ${shown(volumeL)} L, with ${water.name}`),
    '',
    ...saltLines(sheet, wish.unit),
    ...acidLines(prepared),
    '',
    ...elementTable(sheet, wish.elementUnit),
    '',
    ...settledLines(prepared),
    ...sheet.unmet.flatMap(({ why }) => folded(why, 'Unmet: ', '  ')),
    ...roundingLines(sheet),
    ...(sheet.isLeastSalt
      ? []
      : folded('A recipe with a little less salt may exist; this one was verified.', 'Note: ', '  ')),
    ...notes.flatMap((note) => folded(note, 'Note: ', '  ')),
    '',
    ...folded(SALT_CAUTION),
    ...(sheet.acid === undefined ? [] : folded(ACID_CAUTION)),
    ...folded(DISCHARGE_CAUTION),
  ]
  return `${lines.join('\n')}\n`
}

function saltLines({ salts, volumeL, saltG }: RecipeSheet, unit: Unit): string[] {
  const hasScale = salts.some(({ weighedG }) => weighedG !== undefined)
  const head = `${'Weigh in'.padEnd(40)}${unit.text.padStart(12)}${'g'.padStart(10)}${hasScale ? 'weighed'.padStart(10) : ''}`
  const rows = salts.map((salt) => {
    const amount = inUnit(unit.dimension === 'mass' ? salt.g : salt.gPerL, unit)
    const weighed = salt.weighedG === undefined ? '' : String(salt.weighedG).padStart(10)
    return `${salt.name.padEnd(40)}${shown(amount).padStart(12)}${shown(salt.g).padStart(10)}${weighed}${mark(salt)}`
  })
  const sum = inUnit(unit.dimension === 'mass' ? saltG : saltG / volumeL, unit)
  return [head, ...rows, `${'together'.padEnd(40)}${shown(sum).padStart(12)}${shown(saltG).padStart(10)}`]
}

function mark({ isPinned, isTooCoarse }: SaltLine): string {
  return `${isPinned ? ' pin' : ''}${isTooCoarse ? ' !' : ''}`
}

function acidLines({ sheet }: PreparedRecipe): string[] {
  const { acid } = sheet
  if (acid === undefined) return []
  if (acid.ml === 0) return [`${acid.name}: none needed`]
  const first =
    acid.firstHourMl === undefined || acid.firstHourPh === undefined
      ? ''
      : `; the aim shows after ${shown(acid.firstHourMl)} mL already, and pH ${acid.firstHourPh.toFixed(1)} with all of it, until carbon dioxide has left`
  return folded(`${shown(acid.ml)} mL (${shown(1000 * acid.mlPerL)} mL per 1000 L)${first}.`, `${acid.name}: `, '  ')
}

function elementTable({ elements }: RecipeSheet, unit: ElementUnit): string[] {
  const wanted = elements.filter(({ totalMgPerL, highMgPerL }) => totalMgPerL > 0 || highMgPerL > 0)
  return [
    `${unit.padEnd(7)}${'water'.padStart(7)}${'salts'.padStart(8)}${'total'.padStart(8)}${'band'.padStart(15)}  [ band ]  | aim  * total`,
    ...wanted.flatMap((line) => elementRows(line, unit)),
  ]
}

function elementRows(line: ElementLine, unit: ElementUnit): string[] {
  const value = (mgPerL: number): string => {
    const inIt = elementIn(unit, line.element, toMmolPerL(line.element, mgPerL))
    return inIt === undefined ? '-' : compact(inIt)
  }
  const brought = line.totalMgPerL - line.waterMgPerL
  const edges = [value(line.lowMgPerL), value(line.highMgPerL)].map((edge) => (edge === '-' ? edge : brief(edge)))
  const band = edges.includes('-') ? '-' : edges.join('-')
  const flag = line.place === 'in-band' ? '' : ` ${line.place.toUpperCase()}`
  const amounts = `${line.element.padEnd(7)}${value(line.waterMgPerL).padStart(7)}${value(brought).padStart(8)}${value(line.totalMgPerL).padStart(8)}`
  const shares = line.fromSalts
    .filter(({ mgPerL }) => mgPerL >= TOLD_PART * line.totalMgPerL)
    .map(({ name, mgPerL }) => `${name} ${value(mgPerL)}`)
    .join(', ')
  return [
    `${amounts}${band.padStart(15)}  ${bar(line)}${flag}`.trimEnd(),
    ...(shares === '' || (unit === 'meq/L' && CHARGE[line.element] === 0)
      ? []
      : folded(shares, '         ', '         ')),
  ]
}

/** An edge in two figures: bands are known no better. */
function brief(edge: string): string {
  return Number(edge) >= 100 ? edge : compact(Number(Number(edge).toPrecision(2)))
}

/** Parts of a total below this are not spelled out. */
const TOLD_PART = 0.002

const [LOW_AT, HIGH_AT, BAR_WIDTH] = [6, 18, 25]

/** Low and high edge stand where they stand for every element; beyond the high one the bar ends at one and a half. */
export function bar({ totalMgPerL, lowMgPerL, aimMgPerL, highMgPerL }: ElementLine): string {
  const cells: string[] = Array.from({ length: BAR_WIDTH }, (_, at) => (at > LOW_AT && at < HIGH_AT ? ' ' : '.'))
  const place = (value: number): number => {
    if (value < lowMgPerL) return Math.min(LOW_AT - 1, Math.floor((LOW_AT * value) / lowMgPerL))
    if (value > highMgPerL) {
      const beyond = highMgPerL > 0 ? (value - highMgPerL) / (highMgPerL / 2) : 1
      return Math.min(BAR_WIDTH - 1, HIGH_AT + 1 + Math.floor(beyond * (BAR_WIDTH - HIGH_AT - 1)))
    }
    const share = highMgPerL > lowMgPerL ? (value - lowMgPerL) / (highMgPerL - lowMgPerL) : 0.5
    return LOW_AT + 1 + Math.round(share * (HIGH_AT - LOW_AT - 2))
  }
  cells[LOW_AT] = '['
  cells[HIGH_AT] = ']'
  cells[place(aimMgPerL)] = '|'
  cells[place(totalMgPerL)] = '*'
  return cells.join('')
}

function settledLines({ sheet }: PreparedRecipe): string[] {
  const { ph, conductivityDsPerM } = sheet.settled
  const settles = `EC ${conductivityDsPerM.toFixed(2)} mS/cm at 25 °C and pH ${ph.toFixed(1)}, once aerated (calculated).`
  return folded(settles, 'Settles at ', '  ')
}

/** Shifts that a laboratory would see. */
const TOLD_SHARE = 0.02

function roundingLines({ salts, elements }: RecipeSheet): string[] {
  const coarse = salts.filter(({ isTooCoarse }) => isTooCoarse).map(({ name }) => name)
  const moved = elements.flatMap(({ element, weighedMgPerL, totalMgPerL, lowMgPerL, highMgPerL }) => {
    if (weighedMgPerL === undefined || Math.abs(weighedMgPerL - totalMgPerL) <= TOLD_SHARE * totalMgPerL) return []
    const out = weighedMgPerL < lowMgPerL ? ' (below its band)' : weighedMgPerL > highMgPerL ? ' (above its band)' : ''
    return [`${element} ${shown(totalMgPerL)} to ${shown(weighedMgPerL)}${out}`]
  })
  const all = salts.some(({ weighedG }) => weighedG !== undefined)
  if (!all) return []
  return [
    ...folded(
      moved.length === 0 ? 'moves nothing by more than 2 %.' : `moves, in mg/L, ${moved.join(', ')}.`,
      'Rounding: ',
      '  ',
    ),
    ...(coarse.length === 0
      ? []
      : folded(
          `too coarse for ${coarse.join(', ')}: weigh ten or a hundred times as much into a litre of water and measure a part of it, or mix a larger volume.`,
          'Scale: ',
          '  ',
        )),
  ]
}
