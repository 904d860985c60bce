/** Acids as they are sold: how heavy a litre of each strength is. */

import type { Acid } from './acid-plan.ts'

/** Percent by mass and kg/L at 20 °C; between two lines the density is interpolated. Handbook figures, from memory. */
const STRENGTHS: Readonly<Record<string, { formula: string; densities: readonly (readonly [number, number])[] }>> = {
  'nitric acid': {
    formula: 'HNO3',
    densities: [
      [20, 1.115],
      [38, 1.2335],
      [53, 1.328],
      [60, 1.3667],
      [65, 1.3913],
      [68, 1.405],
    ],
  },
  'phosphoric acid': {
    formula: 'H3PO4',
    densities: [
      [30, 1.1805],
      [50, 1.335],
      [75, 1.579],
      [85, 1.689],
    ],
  },
  'sulfuric acid': {
    formula: 'H2SO4',
    densities: [
      [20, 1.1394],
      [35, 1.2599],
      [50, 1.3951],
      [93, 1.828],
      [98, 1.836],
    ],
  },
}

/** What the desk reckons with when it compares acids: the strengths that are sold for this use. */
export const USUAL_ACIDS: readonly Acid[] = [
  acid('nitric acid', 60),
  acid('phosphoric acid', 75),
  acid('sulfuric acid', 35),
]

export type AcidReading =
  | { readonly kind: 'acid'; readonly acid: Acid }
  | { readonly kind: 'unfit'; readonly problem: string }

/** An acid named with its strength, such as 'nitric acid 60 %'. */
export function readAcid(text: string): AcidReading {
  const match = /^\s*([a-z]+ acid)\s+(\d+(?:\.\d+)?)\s*%\s*$/i.exec(text)
  const name = (match?.[1] ?? '').toLowerCase()
  const known = Object.hasOwn(STRENGTHS, name) ? STRENGTHS[name] : undefined
  if (match === null || known === undefined) {
    const problem = `'${text}': an acid and its strength by mass are needed, such as 'nitric acid 60 %'; known are ${Object.keys(STRENGTHS).join(', ')}`
    return { kind: 'unfit', problem }
  }
  const percent = Number(match[2])
  const [least, most] = [known.densities[0]![0], known.densities.at(-1)![0]]
  if (percent < least || percent > most) {
    return { kind: 'unfit', problem: `'${text}': strengths of ${least} to ${most} % are known for ${name}` }
  }
  return { kind: 'acid', acid: acid(name, percent) }
}

function acid(name: string, percent: number): Acid {
  const { formula, densities } = STRENGTHS[name]!
  const above = densities.findIndex(([at]) => at >= percent)
  const [high, heavy] = densities[above]!
  const [low, light] = densities[Math.max(0, above - 1)]!
  const share = high === low ? 1 : (percent - low) / (high - low)
  const densityKgPerL = light + share * (heavy - light)
  return { name: `${name} ${percent} %`, formula, massFraction: percent / 100, densityKgPerL }
}
