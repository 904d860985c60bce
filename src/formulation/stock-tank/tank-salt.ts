// A salt of a recipe on its way into a stock tank.

import { type Composition, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { readSalt, type Salt, type SaltContent } from '../../chemistry/salt.ts'
import type { TankItem } from '../../chemistry/solubility.ts'

export interface TankSalt {
  readonly name: string
  /** in the working solution, not in the tank */
  readonly gPerL: number
  readonly content: SaltContent
  /** absent where the salt is told by its label */
  readonly formula?: string
  readonly nature: Exclude<TankItem['nature'], 'acid'>
  /** from the salts file; used where the table of the house has no row */
  readonly solubilityAt20GPerL?: number
}

export interface TankSaltGiven {
  readonly name: string
  readonly gPerL: number
  readonly salt: Salt
  readonly solubilityAt20GPerL?: number
}

/**
 * The salt with what it brings. Iron told by a label is a chelate: no soluble iron salt for stocks is sold otherwise;
 * iron told by a formula is a plain salt.
 *
 * @throws for a salt that cannot be read: whoever chose the recipe has read it before
 */
export function tankSalt({ name, gPerL, salt, solubilityAt20GPerL }: TankSaltGiven): TankSalt {
  const content = readSalt(salt)
  if (content.kind === 'bad-salt') throw new Error(`${name}: ${content.problem}`)
  const isChelate = salt.kind === 'label' && (content.mmolPerG.Fe ?? 0) > 0
  return {
    name,
    gPerL,
    content,
    nature: isChelate ? 'iron chelate' : 'salt',
    ...(salt.kind === 'formula' ? { formula: salt.formula } : {}),
    ...(solubilityAt20GPerL === undefined ? {} : { solubilityAt20GPerL }),
  }
}

/** Elements of salts together, mmol/L, each salt at `factor` times its working strength. */
export function mixedMmolPerL(salts: readonly TankSalt[], factor: number): Composition {
  const sums: Partial<Record<ElementName, number>> = {}
  for (const { gPerL, content } of salts) {
    for (const element of ELEMENTS) {
      const mmolPerG = content.mmolPerG[element] ?? 0
      if (mmolPerG > 0) sums[element] = (sums[element] ?? 0) + mmolPerG * gPerL * factor
    }
  }
  return sums
}

/** Alkalinity of salts together, meq/L, each at `factor` times its working strength. */
export function mixedAlkalinityMeqPerL(salts: readonly TankSalt[], factor: number): number {
  return salts.reduce((sum, { gPerL, content }) => sum + content.alkalinityMeqPerG * gPerL * factor, 0)
}

/** The salt as the rules of sharing a tank see it. */
export function asTankItem({ name, content, nature }: TankSalt): TankItem {
  return { name, mmol: content.mmolPerG, nature }
}
