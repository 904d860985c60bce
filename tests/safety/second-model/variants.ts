/**
 * Models that are wrong in one thing, each to the stricter side: one of the settled answers taken back, or one limit
 * off by the least. Each must find the gate too lax, or the sequences never come near that edge.
 */

import { SETTLED } from './answers.ts'
import { campaign, type Model, type Tally } from './compare.ts'
import { WRONG_LIMITS } from './wrong-limits.ts'

/** The wrong models, by the name of what is wrong. */
export const VARIANTS: Readonly<Record<string, Partial<Model>>> = Object.fromEntries([
  ...Object.entries(SETTLED)
    .filter(([, isStrict]) => !isStrict)
    .map(([name]) => [name, { answers: { ...SETTLED, [name]: true } }]),
  ...Object.entries(WRONG_LIMITS).map(([name, limits]) => [`limit ${name}`, { limits }]),
])

/** The first seed whose sequence shows the gate laxer than a wrong model, or null within this many wishes. */
export function firstSeedOf(model: Partial<Model>, wishes: number): number | null {
  const laxer = (tally: Tally) => [...tally.differences.values()].find(({ first }) => first.side === 'laxer')
  return laxer(campaign(1, wishes, model, (tally) => laxer(tally) !== undefined))?.first.seed ?? null
}
