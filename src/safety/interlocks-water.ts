import { type Interlock, stillToWait } from './interlock.ts'
import { tellDuration, tellValue } from './wording.ts'

/** Whether there is water of the right amount that moves. A sensor that is declared as not fitted tightens the caps. */
export const WATER_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'level-not-low',
    rule: 'There is enough water in the reservoir to take a shot.',
    on: 'condition',
    holds: (_wish, facts, limits) => !facts.levelFitted || facts.levelLowestL >= limits.levelMinL,
    found: (_wish, facts, limits) =>
      `the reservoir holds ${tellValue(facts.levelLowestL)} L, at least ${limits.levelMinL} L must be in it`,
  },
  {
    id: 'level-not-high',
    rule: 'The reservoir is not about to run over.',
    on: 'condition',
    holds: (_wish, facts, limits) => !facts.levelFitted || facts.levelHighestL <= limits.levelMaxL,
    found: (_wish, facts, limits) =>
      `the reservoir holds ${tellValue(facts.levelHighestL)} L, at most ${limits.levelMaxL} L may be in it`,
  },
  {
    id: 'flow-running',
    rule: 'The solution circulates: no flow, no dose.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.flowFitted || (facts.flowLowestLPerMin >= limits.flowMinLPerMin && facts.flowingForMs >= 0),
    found: (_wish, facts, limits) =>
      `the flow is ${tellValue(facts.flowLowestLPerMin)} L/min, at least ${limits.flowMinLPerMin} L/min is needed`,
  },
  {
    id: 'flow-steady',
    rule: 'The flow has been steady for a while.',
    on: 'condition',
    holds: (_wish, facts, limits) => !facts.flowFitted || facts.flowingForMs >= limits.flowSteadyMs,
    found: (_wish, facts, limits) =>
      Number.isNaN(facts.flowingForMs)
        ? 'the flow is not steady'
        : `the flow came back ${tellDuration(facts.flowingForMs)} ago and ` +
          `${tellDuration(limits.flowSteadyMs)} must pass`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.flowSteadyMs, facts.flowingForMs),
  },
]
