/** Takes out of a difference whatever it does not need, so that a person can read how it comes about. */

import type { Answers } from './answers.ts'
import type { Difference } from './compare.ts'
import { Gate } from './gate.ts'
import { against, viewAt } from './opinion.ts'
import type { Told } from './told.ts'

/** The shortest list found, by leaving out ever smaller pieces, on which the two still differ to the same side. */
export function minimise(difference: Difference, answers: Answers): readonly Told[] {
  let told = difference.told
  for (let piece = Math.ceil(told.length / 2); piece >= 1; piece = Math.floor(piece / 2)) {
    for (let at = 0; at < told.length; ) {
      const shorter = [...told.slice(0, at), ...told.slice(at + piece)]
      if (differs(difference, shorter, answers)) told = shorter
      else at += piece
    }
  }
  return told
}

/** Whether both, told this list, still answer the wish differently, and to the same side. */
export function differs(difference: Difference, told: readonly Told[], answers: Answers): boolean {
  const { limits, wish, atMs, side } = difference
  const gate = new Gate(limits)
  for (const event of told) {
    if (event.kind === 'shot') gate.shoot(event.wish, event.atMs)
    else gate.tell(event)
  }
  const permits = gate.refusals(wish, atMs).length === 0
  const agrees = against(viewAt(limits, gate.told, atMs, answers), wish).length === 0
  return side === 'laxer' ? permits && !agrees : !permits && agrees
}
