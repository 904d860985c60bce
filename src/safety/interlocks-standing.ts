import type { Facts } from './facts.ts'
import type { Interlock } from './interlock.ts'

/** Whether anything may be dosed at all: who is in charge, what people said, what the house itself needs. */
export const STANDING_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'started',
    rule: 'The daemon has started under a term of its own, newer than any before.',
    on: 'condition',
    holds: (_wish, facts) => facts.started && facts.term >= 0,
    found: () => 'the daemon has not started under a term newer than any before',
  },
  {
    id: 'mode-acts',
    rule: 'The mode is automatic, or it is advise and a person has approved this very plan not long ago.',
    on: 'condition',
    holds: (wish, facts, limits) =>
      facts.mode === 'automatic' ||
      (facts.mode === 'advise' &&
        facts.approvedPlanId === wish.planId &&
        facts.approvalAgeMs >= 0 &&
        facts.approvalAgeMs <= limits.approvalMs),
    found: (wish, facts) => tellMode(wish.planId, facts),
  },
  {
    id: 'not-held',
    rule: 'Nobody holds the dosing.',
    on: 'condition',
    holds: (_wish, facts) => facts.heldBy === null,
    found: (_wish, facts) => `dosing is held by ${facts.heldBy}; release it when the reason is gone`,
  },
  {
    id: 'hold-switch-open',
    rule: 'The hold switch at the reservoir, where there is one, is read as open; no software overrides it.',
    on: 'condition',
    holds: (_wish, facts) => facts.switchHeld === null,
    found: (_wish, facts) => facts.switchHeld ?? 'the hold switch is on',
  },
  {
    id: 'not-sanitising',
    rule: 'The system is not being sanitised, and after the last time a rinse and then a probe check were logged.',
    on: 'condition',
    holds: (_wish, facts) => facts.sanitising === null,
    found: (_wish, facts) => tellSanitise(facts.sanitising),
  },
  {
    id: 'not-tripped',
    rule: 'Nothing has tripped that a person has not yet looked at and reset.',
    on: 'condition',
    holds: (_wish, facts) => facts.trips.length === 0,
    found: (_wish, facts) => `tripped: ${[...new Set(facts.trips)].join(', ')}; find the cause, then reset`,
  },
  {
    id: 'disk-writable',
    rule: 'The ledger can be written, so that no dose is forgotten.',
    on: 'condition',
    holds: (_wish, facts) => facts.diskWritable === true,
    found: () => 'the ledger cannot be written; free the disk',
  },
  {
    id: 'link-up',
    rule: 'The link to the nodes is up.',
    on: 'condition',
    holds: (_wish, facts) => facts.linkUp === true,
    found: () => 'the link to the nodes is down',
  },
  {
    id: 'clock-sane',
    rule: 'The clock can be trusted, since the hour and the day are counted by it.',
    on: 'condition',
    holds: (_wish, facts) => facts.clockSane === true,
    found: () => 'the clock stepped or stands behind the ledger; set it',
  },
  {
    id: 'limits-complete',
    rule: 'The limits file has a complete entry for this stock.',
    on: 'condition',
    holds: (_wish, facts) => facts.limitsComplete === true,
    found: (wish) => `the limits file has no complete entry for ${wish.stock}, so it is never dosed`,
  },
  {
    id: 'sensors-declared',
    rule: 'Conductivity and pH are measured; level and flow are measured or declared as not fitted, with a reason.',
    on: 'condition',
    holds: (_wish, facts) => facts.missingSensors.length === 0,
    found: (_wish, facts) => `neither fitted nor declared as not fitted: ${facts.missingSensors.join(', ')}`,
  },
  {
    id: 'command-id-new',
    rule: 'Every command has a name that was not used before.',
    on: 'condition',
    holds: (_wish, facts) => facts.commandIdNew === true,
    found: () => 'the name of this command was used before; nothing is ever dosed twice under one name',
  },
]

function tellSanitise(phase: Facts['sanitising']): string {
  if (phase === 'to-rinse') return 'the system was sanitised and no rinse is logged since; rinse it and log the rinse'
  if (phase === 'to-check') return 'the rinse is logged, the probe check after it is not; check the probes and log it'
  return 'the system is being sanitised; end it, then log the rinse and the probe check'
}

function tellMode(planId: string, facts: Facts): string {
  if (facts.mode !== 'advise') return `the mode is ${facts.mode}, which never doses`
  if (facts.approvedPlanId === null)
    return `the mode is advise and nobody has approved ${planId === '' ? 'a plan' : `plan ${planId}`}`
  if (facts.approvedPlanId !== planId) {
    return `the mode is advise and plan ${facts.approvedPlanId} is approved, not ${planId}`
  }
  return `the approval of plan ${planId} has lapsed; approve it again`
}
