// Which salt goes into which tank.

import { mayShareTank, type TankRule } from '../../chemistry/solubility.ts'
import { solubilityShares } from './solubility-share.ts'
import { asTankItem, mixedMmolPerL, type TankSalt } from './tank-salt.ts'

/** A tank as asked for: its name and how many times working strength it is to hold. */
export interface TankWish {
  readonly name: string
  readonly factor: number
}

/** Two salts that were to stand in one tank and must not. */
export interface Refusal {
  readonly tank: string
  readonly rule: TankRule
  readonly pair: readonly [string, string]
  readonly why: string
  readonly nextStep: string
}

export type Allotment =
  | { readonly kind: 'allotted'; readonly tanks: readonly (TankWish & { readonly salts: readonly TankSalt[] })[] }
  | { readonly kind: 'refused'; readonly refusals: readonly Refusal[] }

/** A stock tank of a film-channel site holds a few salts; more free salts than this are placed one after another. */
const ENUMERATED_MAX = 6

/**
 * Salts into tanks, so that nothing meets what it must not and the fullest tank is as far from crystallising as can be.
 *
 * Calcium and the iron chelates go to the first tank, phosphates, sulfates and the other micronutrients to the second,
 * as the trade does; with one tank all go there and the rules decide. Salts that may stand in either (potassium
 * nitrate) go where they leave most room.
 *
 * @param pinned tank by salt, where a person has decided; the rules still hold
 * @param tanks at least one
 */
export function allotTanks(
  salts: readonly TankSalt[],
  tanks: readonly TankWish[],
  pinned: Readonly<Record<string, string>>,
  coldestC: number,
): Allotment {
  if (tanks.length === 0) throw new Error('allotTanks: no tank')
  const free: TankSalt[] = []
  const fixed = tanks.map((): TankSalt[] => [])
  for (const salt of salts) {
    const at = tanks.findIndex(({ name }) => name === pinned[salt.name])
    const place = at >= 0 ? at : placeByTrade(salt, tanks.length)
    if (place === undefined) free.push(salt)
    else fixed[place]!.push(salt)
  }
  const filled = tanks.map((tank, at) => ({ ...tank, salts: fixed[at]! }))
  const refusals = filled.flatMap((tank) => refusalsOf(tank, tanks))
  if (refusals.length > 0) return { kind: 'refused', refusals }
  const places = bestPlaces(filled, free, coldestC)
  const allotted = filled.map((tank, at) => ({
    ...tank,
    salts: salts.filter((salt) => tank.salts.includes(salt) || places[free.indexOf(salt)] === at),
  }))
  const late = allotted.flatMap((tank) => refusalsOf(tank, tanks))
  return late.length > 0 ? { kind: 'refused', refusals: late } : { kind: 'allotted', tanks: allotted }
}

/** Undefined where the salt may stand in any tank. */
function placeByTrade({ content: { mmolPerG }, nature }: TankSalt, tankCount: number): number | undefined {
  const brings = (...names: readonly (keyof typeof mmolPerG)[]) => names.some((name) => (mmolPerG[name] ?? 0) > 0)
  if (tankCount === 1) return 0
  if (brings('Ca') || nature === 'iron chelate') return 0
  if (brings('S', 'P', 'Fe', 'Mn', 'Zn', 'Cu', 'B', 'Mo')) return 1
  return undefined
}

type Filled = TankWish & { readonly salts: readonly TankSalt[] }

/** For each free salt the place that, all together, keeps the highest share of solubility lowest. */
function bestPlaces(tanks: readonly Filled[], free: readonly TankSalt[], coldestC: number): readonly number[] {
  if (free.length > ENUMERATED_MAX) {
    const early = bestPlaces(tanks, free.slice(0, ENUMERATED_MAX), coldestC)
    const filled = tanks.map((tank, at) => ({
      ...tank,
      salts: [...tank.salts, ...free.filter((_, k) => early[k] === at)],
    }))
    return [...early, ...bestPlaces(filled, free.slice(ENUMERATED_MAX), coldestC)]
  }
  let best: { readonly places: readonly number[]; readonly cost: number } = { places: [], cost: Infinity }
  for (let code = 0; code < tanks.length ** free.length; code++) {
    const places = free.map((_, k) => Math.floor(code / tanks.length ** k) % tanks.length)
    const cost = costOf(
      tanks.map((tank, at) => ({ ...tank, salts: [...tank.salts, ...free.filter((_, k) => places[k] === at)] })),
      coldestC,
    )
    if (cost < best.cost) best = { places, cost }
  }
  return best.places.length > 0 || free.length === 0 ? best.places : free.map(() => 0)
}

/** The share of the fullest tank beside its limit; a placing against the rules costs more than any other. */
function costOf(tanks: readonly Filled[], coldestC: number): number {
  const costs = tanks.map(({ salts, factor }) => {
    if (mayShareTank(salts.map(asTankItem)).kind !== 'may-share') return AGAINST_THE_RULES
    const shares = solubilityShares(mixedMmolPerL(salts, factor), salts, factor, coldestC)
    return Math.max(0, ...shares.map(({ share, shareMax }) => share / shareMax))
  })
  return Math.max(...costs)
}

const AGAINST_THE_RULES = 1e9

/** Every pair that breaks a rule, so that one look tells all; a rule that no pair breaks alone cannot break together. */
function refusalsOf({ name, salts }: Filled, tanks: readonly TankWish[]): Refusal[] {
  const others = tanks.filter((tank) => tank.name !== name).map((tank) => tank.name)
  const nextStep =
    others.length === 0 ? 'Ask for two tanks, such as A:100x,B:100x.' : `Put one of them into ${others.join(' or ')}.`
  return salts.flatMap((salt, at) =>
    salts.slice(at + 1).flatMap((other): Refusal[] => {
      const verdict = mayShareTank([asTankItem(salt), asTankItem(other)])
      if (verdict.kind === 'may-share') return []
      return [{ tank: name, rule: verdict.rule, pair: [salt.name, other.name], why: verdict.why, nextStep }]
    }),
  )
}
