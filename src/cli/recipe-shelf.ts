/** The shelf as the solver takes it: by name, with what is pinned and what is left aside. */

import { toVector } from '../chemistry/element.ts'
import { readSalt } from '../chemistry/salt.ts'
import { saltOf } from '../config/salt-entry.ts'
import type { SaltEntry } from '../config/salts-schema.ts'
import type { RecipeSalt } from '../formulation/recipe/recipe.ts'
import { readQuantity } from '../formulation/units/quantity.ts'
import { CommandFailure } from './command-failure.ts'

/** Up to which pH each chelate holds its iron; three pages agree within half a unit. */
const CHELATE_PH: readonly (readonly [RegExp, number])[] = [
  [/\bEDTA\b/, 6.0],
  [/\bDTPA\b/, 6.5],
  [/\bEDDHA\b/, 9.0],
]

export interface ShelfWish {
  readonly entries: Readonly<Record<string, SaltEntry>>
  /** only these, where named */
  readonly only?: readonly string[]
  /** 'calcium nitrate=0.9 g/L' */
  readonly pins: readonly string[]
  readonly volumeL: number
  readonly phHigh: number
}

export interface Shelf {
  readonly salts: readonly RecipeSalt[]
  readonly notes: readonly string[]
}

/** The salts to choose from. An iron chelate that the crop’s pH is too much for stands back where another serves. */
export function shelfOf({ entries, only, pins, volumeL, phHigh }: ShelfWish): Shelf {
  const names = Object.keys(entries)
  const pinned = new Map(pins.map((pin) => readPin(pin, names, volumeL)))
  const asked = only?.map((name) => nameOf(name, names, '--only'))
  const wanted = asked === undefined ? names : [...new Set([...asked, ...pinned.keys()])]
  const weak = asked === undefined ? weakChelates(wanted, phHigh).filter((name) => !pinned.has(name)) : []
  const salts = wanted.filter((name) => !weak.includes(name)).map((name) => recipeSalt(name, entries[name]!))
  return {
    salts: salts.map((salt) => {
      const pinnedGPerL = pinned.get(salt.name)
      return pinnedGPerL === undefined ? salt : { ...salt, pinnedGPerL }
    }),
    notes: weak.map((name) => `${name} stands back: it loses its iron below the pH of ${phHigh} this crop may reach.`),
  }
}

/** One salt of the shelf; its file was checked when it was read. */
export function recipeSalt(name: string, entry: SaltEntry): RecipeSalt {
  const content = readSalt(saltOf(entry))
  if (content.kind === 'bad-salt') throw new CommandFailure('data', `${name}: ${content.problem}`)
  return { name, mmolPerG: toVector(content.mmolPerG), untrackedMeqPerG: content.untrackedMeqPerG }
}

function weakChelates(names: readonly string[], phHigh: number): string[] {
  const chelates = names.flatMap((name) => {
    const holds = CHELATE_PH.find(([pattern]) => pattern.test(name))?.[1]
    return holds === undefined ? [] : [{ name, holds }]
  })
  const serves = chelates.some(({ holds }) => holds >= phHigh)
  return serves ? chelates.filter(({ holds }) => holds < phHigh).map(({ name }) => name) : []
}

function readPin(pin: string, names: readonly string[], volumeL: number): readonly [string, number] {
  const at = pin.lastIndexOf('=')
  if (at < 1) {
    throw new CommandFailure('usage', `--pin: found "${pin}"; write it as "calcium nitrate=0.9 g/L" or "=200 g"`)
  }
  const name = nameOf(pin.slice(0, at), names, '--pin')
  const read = readQuantity(pin.slice(at + 1), ['mass-per-volume', 'mass'])
  if (read.kind === 'unfit') throw new CommandFailure('usage', `--pin "${name}": ${read.problem}`)
  return [name, read.unit.dimension === 'mass' ? read.value / volumeL : read.value]
}

/** A salt by its name, or by a part of it that only one has. */
export function nameOf(text: string, names: readonly string[], flag: string): string {
  const asked = text.trim().toLowerCase()
  const exact = names.find((name) => name.toLowerCase() === asked)
  if (exact !== undefined) return exact
  const starting = names.filter((name) => name.toLowerCase().startsWith(asked))
  const holding = starting.length > 0 ? starting : names.filter((name) => name.toLowerCase().includes(asked))
  if (holding.length === 1 && asked !== '') return holding[0]!
  const found = holding.length > 1 ? `several salts, ${holding.join(', ')}` : 'no salt'
  throw new CommandFailure(
    'usage',
    `${flag}: "${text.trim()}" names ${found}${holding.length > 1 ? '' : ` of the shelf: ${names.join(', ')}`}`,
  )
}
