import type { Facts } from './facts.ts'
import type { Interlock } from './interlock.ts'
import type { Limits } from './limits.ts'
import { isRangeSpared, isSpared } from './ration-facts.ts'
import { agree, type Twins, twinsOf } from './twins.ts'
import type { ShotWish } from './types.ts'
import type { ProbeFacts } from './water-facts.ts'
import { tellDuration, tellValue } from './wording.ts'

/** Whether every probe that must be well is well, by its raw reading. */
export const PROBE_INTERLOCKS: readonly Interlock[] = [
  probeInterlock(
    'probe-present',
    'Every required probe has been read since the start.',
    (probe) => probe.quality !== null,
    () => 'has not been read since the start',
  ),
  probeInterlock(
    'probe-not-from-future',
    'No reading is from the future.',
    (probe) => probe.ageMs >= 0,
    (probe) => `carries a time ${tellDuration(-probe.ageMs)} from now`,
  ),
  probeInterlock(
    'probe-fresh',
    'Every required probe has been read lately.',
    (probe, limits) => probe.ageMs <= limits.scanAgeMaxMs,
    (probe, limits) => `was read ${tellDuration(probe.ageMs)} ago, ${tellDuration(limits.scanAgeMaxMs)} is allowed`,
  ),
  probeInterlock(
    'probe-good',
    'Every required probe calls its own reading good.',
    (probe) => probe.quality === 'good',
    (probe) => `calls its reading ${probe.quality ?? 'nothing'}`,
  ),
  probeInterlock(
    'probe-in-range',
    'Every required probe reads inside its range.',
    (probe) => probe.value >= probe.min && probe.value <= probe.max,
    (probe) => `reads ${tellValue(probe.value)}, allowed is ${probe.min} to ${probe.max}`,
    isRangeSpared,
  ),
  probeInterlock(
    'probe-not-stuck',
    'No required probe shows the very same value for hours.',
    (probe) => probe.sameForMs >= 0 && probe.sameForMs < probe.stuckMs,
    (probe) => `has shown ${tellValue(probe.value)} for ${tellDuration(probe.sameForMs)}, so it is taken as stuck`,
  ),
  {
    id: 'probes-agree',
    rule: 'Two probes of one role agree within what the limits allow.',
    on: 'condition',
    holds: (wish, facts, limits) =>
      twinsOf(limits, facts.probes).every(
        (twins) => agree(twins) || twins.probes.some(({ id }) => isSpared(wish, facts, id)),
      ),
    found: (_wish, facts, limits) =>
      twinsOf(limits, facts.probes)
        .filter((twins) => !agree(twins))
        .map(tellTwins)
        .join('; '),
  },
]

function tellTwins({ role, probes, within }: Twins): string {
  const read = probes.map((probe) => `${probe.id} reads ${tellValue(probe.value)}`).join(' and ')
  const allowed = Number.isNaN(within) ? 'the limits say no difference that is allowed' : `${within} apart is allowed`
  return `of ${role}, ${read}; ${allowed}, so find out which of them is wrong`
}

function probeInterlock(
  id: string,
  rule: string,
  isWell: (probe: ProbeFacts, limits: Limits) => boolean,
  tell: (probe: ProbeFacts, limits: Limits) => string,
  isLeftOut: (wish: ShotWish, facts: Facts, probe: ProbeFacts) => boolean = (wish, facts, probe) =>
    isSpared(wish, facts, probe.id),
): Interlock {
  const tellIll = (wish: ShotWish, facts: Facts, limits: Limits) =>
    facts.probes
      .filter((probe) => !isWell(probe, limits) && !isLeftOut(wish, facts, probe))
      .map((probe) => `${probe.id} (${probe.role}) ${tell(probe, limits)}`)
      .join('; ')
  return {
    id,
    rule,
    on: 'condition',
    holds: (wish, facts, limits) =>
      facts.probes.every((probe) => isWell(probe, limits) || isLeftOut(wish, facts, probe)),
    found: (wish, facts, limits) => tellIll(wish, facts, limits),
  }
}
