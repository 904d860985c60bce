import type { Interlock } from './interlock.ts'
import { ACID_INTERLOCKS } from './interlocks-acid.ts'
import { BASE_INTERLOCKS } from './interlocks-base.ts'
import { asCalibrated, CALIBRATION_INTERLOCKS } from './interlocks-calibration.ts'
import { DOSE_INTERLOCKS } from './interlocks-dose.ts'
import { EFFECT_INTERLOCKS } from './interlocks-effect.ts'
import { ELEMENT_INTERLOCKS } from './interlocks-element.ts'
import { NODE_INTERLOCKS } from './interlocks-node.ts'
import { PROBE_INTERLOCKS } from './interlocks-probe.ts'
import { RATION_INTERLOCKS } from './interlocks-ration.ts'
import { REFILL_INTERLOCKS } from './interlocks-refill.ts'
import { STANDING_INTERLOCKS } from './interlocks-standing.ts'
import { WATER_INTERLOCKS } from './interlocks-water.ts'

const ROWS: readonly Interlock[] = [
  ...STANDING_INTERLOCKS,
  ...NODE_INTERLOCKS,
  ...PROBE_INTERLOCKS,
  ...WATER_INTERLOCKS,
  ...DOSE_INTERLOCKS,
  ...REFILL_INTERLOCKS,
  ...EFFECT_INTERLOCKS,
  ...ACID_INTERLOCKS,
  ...BASE_INTERLOCKS,
  ...ELEMENT_INTERLOCKS,
  ...RATION_INTERLOCKS,
  ...CALIBRATION_INTERLOCKS,
]

/** Everything that must hold before a pump runs, in the order a person would ask. */
export const INTERLOCKS: readonly Interlock[] = ROWS.map(asCalibrated)
