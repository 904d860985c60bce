/** Valid messages spoilt: one to three changes of their values, their shape or their bytes. */

export type Chance = () => number

type Json = null | boolean | number | string | Json[] | { [key: string]: Json }

const NUMBERS = [0, -0, -1, 1, 0.5, 2 ** 31, 2 ** 53, -(2 ** 53), 1e308, -1e308, 5e-324, 86_400_001] as const
const STRINGS = ['', 'a1', 'pump-1', 'ec-1', '__proto__', 'constructor', '1-1', 'mS/cm', '\u0000', '💧', 'x'.repeat(70)]
const WRITTEN = ['NaN', 'Infinity', '1e999', '-1e999', 'null', '[]', '{}', '"', '01', '\\ud800'] as const

function pick<One>(chance: Chance, from: readonly One[]): One {
  return from[Math.floor(chance() * from.length)]!
}

/** A payload as its sender might have broken it. Two calls with the same chance give the same text. */
export function spoil(chance: Chance, message: unknown): string {
  const copy = JSON.parse(JSON.stringify(message)) as Json
  const changes = 1 + Math.floor(chance() * 3)
  let changed: Json = copy
  for (let at = 0; at < changes; at++) changed = changeSomewhere(chance, changed)
  const text = JSON.stringify(changed)
  return chance() < 0.15 ? damage(chance, text) : text
}

function changeSomewhere(chance: Chance, value: Json): Json {
  if (Array.isArray(value)) {
    if (value.length === 0 || chance() < 0.1) return changeList(chance, value)
    const place = Math.floor(chance() * value.length)
    return value.map((item, at) => (at === place ? changeSomewhere(chance, item) : item))
  }
  if (typeof value === 'object' && value !== null) {
    const keys = Object.keys(value)
    if (keys.length === 0 || chance() < 0.08) return changeShape(chance, value, keys)
    const key = pick(chance, keys)
    return { ...value, [key]: changeSomewhere(chance, value[key]!) }
  }
  return changeLeaf(chance, value)
}

function changeLeaf(chance: Chance, value: Json): Json {
  if (chance() < 0.06) return pick<Json>(chance, [null, true, [], {}, 'text', 7])
  if (typeof value === 'number') return changeNumber(chance, value)
  if (typeof value === 'string')
    return chance() < 0.5 ? pick(chance, STRINGS) : `${value}${pick(chance, ['x', '-', '0'])}`
  return typeof value === 'boolean' ? !value : pick(chance, NUMBERS)
}

function changeNumber(chance: Chance, value: number): number {
  const way = chance()
  if (way < 0.25) return pick(chance, NUMBERS)
  if (way < 0.5) return value + Math.round((chance() - 0.5) * 20)
  if (way < 0.75) return value * (0.9 + 0.2 * chance())
  return way < 0.85 ? -value : value * 10 ** Math.round((chance() - 0.5) * 12)
}

function changeList(chance: Chance, list: readonly Json[]): Json {
  const way = chance()
  if (way < 0.4) return [...list, ...list].slice(0, 70)
  if (way < 0.7) return list.slice(1)
  return [...list].reverse()
}

function changeShape(chance: Chance, value: { [key: string]: Json }, keys: readonly string[]): Json {
  const way = chance()
  if (way < 0.5) return Object.fromEntries(Object.entries(value).filter(([key]) => key !== keys[0]))
  if (way < 0.8) return { ...value, [pick(chance, STRINGS)]: pick(chance, NUMBERS) }
  return [value]
}

/** A text cut off, with something written into it, or one character another. */
export function damage(chance: Chance, text: string): string {
  const at = Math.floor(chance() * text.length)
  const way = chance()
  if (way < 0.3) return text.slice(0, at)
  if (way < 0.6) return text.slice(0, at) + pick(chance, WRITTEN) + text.slice(at)
  if (way < 0.8) return text.replace(/-?\d+(\.\d+)?/, () => pick(chance, WRITTEN))
  return text.slice(0, at) + String.fromCharCode(Math.floor(chance() * 256)) + text.slice(at + 1)
}
