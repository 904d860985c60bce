/** What a permitted shot carries: all that a node needs to run it once, and only once. */
export interface ShotFields {
  readonly id: string
  readonly node: string
  readonly pump: string
  readonly stock: string
  readonly planId: string
  readonly volumeUl: number
  readonly runMs: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
  readonly controller: string
  readonly term: number
}

type Make = (fields: ShotFields) => PermittedShot

/** Set when the class is made, null again once taken. */
let make: Make | null = null

/** Known in this file only, so that the constructor is of no use to anybody else, casts included. */
const KEY = Symbol('judged')

/**
 * A shot that every interlock let pass. Only `judge` can make one: text, copies and spreads are not shots, since they
 * lack the private mark that `PermittedShot.is` looks for.
 */
export class PermittedShot implements ShotFields {
  readonly #judged = true
  readonly id: string
  readonly node: string
  readonly pump: string
  readonly stock: string
  readonly planId: string
  readonly volumeUl: number
  readonly runMs: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
  readonly controller: string
  readonly term: number

  private constructor(key: symbol, fields: ShotFields) {
    if (key !== KEY) throw new Error('only judge makes a permitted shot')
    this.id = fields.id
    this.node = fields.node
    this.pump = fields.pump
    this.stock = fields.stock
    this.planId = fields.planId
    this.volumeUl = fields.volumeUl
    this.runMs = fields.runMs
    this.boot = fields.boot
    this.startBeforeUptimeMs = fields.startBeforeUptimeMs
    this.controller = fields.controller
    this.term = fields.term
    Object.freeze(this)
  }

  /** Whether this is a shot that `judge` made. */
  static is(value: unknown): value is PermittedShot {
    return typeof value === 'object' && value !== null && #judged in value && value.#judged
  }

  static {
    make = (fields) => new PermittedShot(KEY, fields)
  }
}

/**
 * Hands over the only way to make a permitted shot, once: `judge.ts` takes it when it is loaded.
 *
 * @throws when it was taken before
 */
export function takeMaker(): Make {
  const taken = make
  make = null
  if (taken === null) throw new Error('the maker of permitted shots was already taken; only judge.ts may take it')
  return taken
}
