import { unsettledName } from './close-unsettled.ts'
import type { Interlock } from './interlock.ts'
import { tellDuration } from './wording.ts'

/** Whether the node that owns the pump is there, is ours and is idle. */
export const NODE_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'node-online',
    rule: 'The pump node is online.',
    on: 'condition',
    holds: (_wish, facts) => facts.nodeOnline === true,
    found: (_wish, facts) => `node ${facts.node} is not online; look at its power and network`,
  },
  {
    id: 'contract-known',
    rule: 'The pump node speaks a version of the contract that is known here.',
    on: 'condition',
    holds: (_wish, facts) => facts.contractKnown === true,
    found: (_wish, facts) => `node ${facts.node} has not said that it speaks contract version 1`,
  },
  {
    id: 'boot-known',
    rule: 'It is known since which start the node runs, so that an old command can never start a pump.',
    on: 'condition',
    holds: (_wish, facts) => typeof facts.boot === 'string' && facts.boot !== '',
    found: (_wish, facts) => `node ${facts.node} has not yet told its boot`,
  },
  {
    id: 'heartbeat-fresh',
    rule: 'The node’s heartbeat is fresh, so that its clock is known.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      facts.heartbeatAgeMs >= 0 && facts.heartbeatAgeMs <= limits.heartbeatAgeMaxMs && facts.nodeUptimeMs >= 0,
    found: (_wish, facts, limits) =>
      Number.isNaN(facts.heartbeatAgeMs)
        ? `no heartbeat of node ${facts.node} since it came up`
        : `the last heartbeat of node ${facts.node} is ${tellDuration(facts.heartbeatAgeMs)} old, ` +
          `${tellDuration(limits.heartbeatAgeMaxMs)} is allowed`,
  },
  {
    id: 'term-ours',
    rule: 'The node has not seen a newer controller than this one.',
    on: 'condition',
    holds: (_wish, facts) => facts.nodeTerm <= facts.term,
    found: (_wish, facts) =>
      `node ${facts.node} has seen term ${facts.nodeTerm}, ours is ${facts.term}; another daemon is in charge`,
  },
  {
    id: 'pump-known',
    rule: 'The node has told this pump’s longest run and its run-time count.',
    on: 'condition',
    holds: (_wish, facts) => facts.maxRunMs > 0 && facts.totalRunMs >= 0 && facts.doubtMs >= 0,
    found: (_wish, facts) => `node ${facts.node} has not told the longest run and the run-time count of ${facts.pump}`,
  },
  {
    id: 'pumps-idle',
    rule: 'No pump of the node runs.',
    on: 'condition',
    holds: (_wish, facts) => facts.runningPump === null,
    found: (_wish, facts) => `${facts.runningPump} of node ${facts.node} is running`,
  },
  {
    id: 'one-at-a-time',
    rule: 'No other command of this node is on its way.',
    on: 'condition',
    holds: (_wish, facts) => facts.openOfNode === null,
    found: (_wish, facts) => `command ${facts.openOfNode} of node ${facts.node} is still on its way`,
  },
  {
    id: 'pump-settled',
    rule: 'It is settled what became of the last command of this pump.',
    on: 'condition',
    holds: (_wish, facts) => facts.openOfPump === null,
    found: (_wish, facts) => `it is not settled what became of command ${facts.openOfPump} of ${facts.pump}`,
  },
  {
    id: 'settled-since-start',
    rule: 'It is settled what became of every command from before the start, of whatever pump.',
    on: 'condition',
    holds: (_wish, facts) => facts.openFromBefore === null,
    found: (_wish, facts) =>
      `what became of command ${facts.openFromBefore} from before the start is not settled; bring node ` +
      `${facts.openFromBeforeNode} back, or, if it is gone for good, have a technician close the command as delivered: ` +
      `reset ${unsettledName(`${facts.openFromBefore}`)}`,
  },
]
