/** What the API knows of the site it speaks for, beside the daemon’s own views. */

import type { Configuration } from '../../config/configuration.ts'
import type { LedgerRecord } from '../../reservoir/record.ts'
import type { ReservoirSettings, ReservoirState } from '../../reservoir/state.ts'

export interface Period {
  readonly fromMs: number
  readonly untilMs: number
}

type RecordOf<Kind extends LedgerRecord['kind']> = Extract<LedgerRecord, { readonly kind: Kind }>

export interface Site {
  /** as the files have it */
  readonly configuration: Configuration
  /** with the limits in force now */
  readonly settings: ReservoirSettings
  /** as the files have them; limits tried are laid over these */
  readonly statedSettings: ReservoirSettings
  readonly version: string
  state(): ReservoirState
  nowMs(): number
  /** records of some kinds in a period, in order of time */
  records<Kind extends LedgerRecord['kind']>(kinds: readonly Kind[], period: Period): Promise<readonly RecordOf<Kind>[]>
}
