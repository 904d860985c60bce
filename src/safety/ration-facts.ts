import type { Limits, RationLoss } from './limits.ts'
import type { SafetyState } from './state.ts'
import type { ShotWish } from './types.ts'
import type { ProbeFacts, WaterFacts } from './water-facts.ts'

export interface RationFacts {
  /** who approved the ration, how long ago, and how long that is good for; null and NaN where nobody did */
  readonly rationBy: string | null
  readonly rationAgeMs: number
  readonly rationLastsMs: number
  /** why the limits allow one, blank where they do not */
  readonly rationReason: string
  readonly rationCovers: readonly RationLoss[]
  /** of this stock; NaN where it has no ration */
  readonly rationUlPerL: number
  readonly rationDayMaxUl: number
  /** since the make-up meter was read last */
  readonly meterAgeMs: number
  /** probes that tell nothing: silent, bad by their own word, or stuck */
  readonly lost: readonly ProbeFacts[]
}

const NO_RATION: RationFacts = {
  rationBy: null,
  rationAgeMs: Number.NaN,
  rationLastsMs: Number.NaN,
  rationReason: '',
  rationCovers: [],
  rationUlPerL: Number.NaN,
  rationDayMaxUl: Number.NaN,
  meterAgeMs: Number.NaN,
  lost: [],
}

/** What a ration of this stock is judged by. */
export function rationFacts(
  limits: Limits,
  state: SafetyState,
  stock: string,
  water: WaterFacts,
  atMs: number,
): RationFacts {
  const { ration } = limits
  if (ration === undefined) return NO_RATION
  const entry = ration.stocks.find((candidate) => candidate.stock === stock)
  const approved = state.ration ?? null
  return {
    ...lossFacts(limits, water),
    rationBy: approved?.by ?? null,
    rationAgeMs: approved === null ? Number.NaN : atMs - approved.atMs,
    rationLastsMs: ration.lastsMs,
    rationReason: ration.reason,
    rationUlPerL: entry?.ulPerL ?? Number.NaN,
    rationDayMaxUl: entry?.dayMaxUl ?? Number.NaN,
    meterAgeMs: atMs - (state.makeUp.last?.atMs ?? Number.NaN),
  }
}

type LossFacts = Pick<RationFacts, 'lost' | 'rationCovers'>

/** What is lost, and what of it a ration could stand in for: the same for every stock. */
export function lossFacts({ ration, scanAgeMaxMs }: Limits, water: WaterFacts): LossFacts {
  if (ration === undefined) return NO_RATION
  return { rationCovers: ration.covers, lost: water.probes.filter((probe) => !isHeard(probe, scanAgeMaxMs)) }
}

/** Whether a probe tells anything at all; a value out of range, told by a probe that is well, is no loss but a warning. */
function isHeard(probe: ProbeFacts, scanAgeMaxMs: number): boolean {
  return probe.ageMs >= 0 && probe.ageMs <= scanAgeMaxMs && speaksWell(probe)
}

function speaksWell(probe: ProbeFacts): boolean {
  const isMoving = probe.sameForMs >= 0 && probe.sameForMs < probe.stuckMs
  return probe.quality === 'good' && Number.isFinite(probe.value) && isMoving
}

/** The one probe that is lost and that the limits’ ration covers; null where none is, or more than one. */
export function coveredLoss({ lost, rationCovers }: LossFacts): ProbeFacts | null {
  const [probe, ...others] = lost
  if (probe === undefined || others.length > 0) return null
  return rationCovers.some((loss) => loss === probe.role) ? probe : null
}

/** Whether a ration does without this probe. */
export function isSpared(wish: ShotWish, facts: RationFacts, id: string): boolean {
  return wish.purpose === 'ration' && coveredLoss(facts)?.id === id
}

/** The same for its range: the last value of a probe that was well then must have been a value to dose on. */
export function isRangeSpared(wish: ShotWish, facts: RationFacts, probe: ProbeFacts): boolean {
  return isSpared(wish, facts, probe.id) && !speaksWell(probe)
}

/** Most that may have gone in within 24 h, ration or not, for the make-up water of the same 24 h. */
export function rationMeteredUl(facts: RationFacts & { readonly makeUpDayL: number }): number {
  return Math.floor(facts.rationUlPerL * facts.makeUpDayL + 1e-6)
}
