/** A parsed configuration. Its four parts carry a mark that only the parser can give. */

import type { CropsFile } from './crops-schema.ts'
import type { LimitsFile } from './limits-schema.ts'
import type { SaltsFile } from './salts-schema.ts'
import type { SiteFile } from './site-schema.ts'

declare const parsed: unique symbol
type Parsed<Part, Name extends string> = DeepReadonly<Part> & { readonly [parsed]: Name }

/** A cohort with its days resolved to moments in the site’s zone. */
export type Cohort = SiteFile['cohorts'][number] & {
  readonly transplantedAtMs: number
  readonly harvestedAtMs?: number
}

export type Site = Parsed<Omit<SiteFile, 'cohorts'> & { readonly cohorts: readonly Cohort[] }, 'site'>
export type Limits = Parsed<LimitsFile, 'limits'>
export type Crops = Parsed<CropsFile['crops'], 'crops'>
export type Salts = Parsed<SaltsFile, 'salts'>

export interface Configuration {
  readonly site: Site
  readonly limits: Limits
  readonly crops: Crops
  readonly salts: Salts
}

export type DeepReadonly<Value> = Value extends readonly (infer Item)[]
  ? readonly DeepReadonly<Item>[]
  : Value extends object
    ? { readonly [Key in keyof Value]: DeepReadonly<Value[Key]> }
    : Value

/** Freezes a value and all it holds. */
export function deepFreeze<Value>(value: Value): Value {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value)
    for (const inner of Object.values(value)) deepFreeze(inner)
  }
  return value
}
