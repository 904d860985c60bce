import { isNotChecked, type Limits, type ProbeRole } from './limits.ts'
import type { ProbeFacts } from './water-facts.ts'

/** Two or more probes of one role that must agree. */
export interface Twins {
  readonly role: ProbeRole
  readonly probes: readonly ProbeFacts[]
  /** largest less smallest value, in the inside unit; NaN where one of them is no number */
  readonly differ: number
  /** NaN where the limits neither allow a difference nor say why none is checked */
  readonly within: number
}

/** A meter counts its own water and each switch speaks for itself. */
const NEVER_TWINS: readonly ProbeRole[] = ['top-up', 'hold-switch']

/** Every role of which there is more than one probe, save those that a person declared as not compared. */
export function twinsOf(limits: Limits, probes: readonly ProbeFacts[]): readonly Twins[] {
  const roles = new Set(probes.map((probe) => probe.role).filter((role) => !NEVER_TWINS.includes(role)))
  const twins: Twins[] = []
  for (const role of roles) {
    const same = probes.filter((probe) => probe.role === role)
    const within = limits.twinsWithin?.[role]
    if (same.length < 2 || isNotChecked(within)) continue
    const values = same.map((probe) => probe.value)
    const differ = Math.max(...values) - Math.min(...values)
    twins.push({ role, probes: same, differ, within: typeof within === 'number' ? within : Number.NaN })
  }
  return twins
}

/** Whether twins agree: at the very limit they do. */
export function agree(twins: Twins): boolean {
  return twins.differ <= twins.within && twins.within < Number.POSITIVE_INFINITY
}
