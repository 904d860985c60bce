/** Guide values: lines of classes from good to bad that sort a figure into the words of the trade. */

export const CRITERIA = [
  'conductivity',
  'alkalinity',
  'hardness',
  'pH',
  'sodium',
  'chloride',
  'sodiumAndChloride',
  'sulfate',
  'nitrate',
  'boron',
  'iron',
  'manganese',
  'zinc',
  'copper',
  'fluoride',
  'chlorine',
  'chloramine',
] as const
export type CriterionName = (typeof CRITERIA)[number]

export interface Guide {
  readonly source: string
  /** from good to bad; `below` is where a class ends, and the last has no end */
  readonly classes: readonly { readonly below?: number | undefined; readonly name: string; readonly meaning: string }[]
}

export type Guides = Readonly<Partial<Record<CriterionName, readonly Guide[]>>>

export interface GuideClass {
  readonly name: string
  readonly meaning: string
  readonly source: string
}

/** The class of a figure in each guide for it. */
export function classesOf(guides: Guides, criterion: CriterionName, figure: number): GuideClass[] {
  return (guides[criterion] ?? []).map(({ source, classes }) => {
    const found = classes.find(({ below }) => below === undefined || figure < below) ?? classes.at(-1)!
    return { name: found.name, meaning: found.meaning, source }
  })
}
