/** All checks that reach over more than one value, for the four files together. */

import { checkAcid } from './acid-check.ts'
import { checkBase } from './base-check.ts'
import { checkCeilings } from './ceilings-check.ts'
import type { ConfigurationError } from './configuration-error.ts'
import { checkCrops } from './crops-check.ts'
import { checkLimits } from './limits-check.ts'
import type { Looks } from './look.ts'
import { checkProbes } from './probe-check.ts'
import { checkRation } from './ration-check.ts'
import { checkSalts } from './salts-check.ts'
import { checkSite } from './site-check.ts'
import { checkStockLimits } from './stock-limits-check.ts'
import type { YamlFile } from './yaml-file.ts'

interface Read {
  readonly file: YamlFile
  readonly value?: unknown
}

/** Everything the checks find, in no particular order. Files that are no YAML are passed over. */
export function checkAll(files: Readonly<Record<keyof Looks, Read>>): ConfigurationError[] {
  const looks = Object.fromEntries(
    Object.entries(files).map(([part, { file, value }]) => [part, { file, view: value ?? file.data }]),
  ) as unknown as Looks
  return CHECKS.flatMap((check) => check(looks))
}

const CHECKS = [
  ...[checkSite, checkProbes, checkStockLimits, checkLimits],
  ...[checkCeilings, checkRation, checkAcid, checkBase, checkCrops, checkSalts],
]
