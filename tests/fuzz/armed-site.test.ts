/**
 * Spoilt messages among the real ones of an armed bench that doses. Two kinds of sittings: in one the spoilt messages are
 * such as must change nothing (they cannot be read, or come from nobody we know), and every shot must be that of a twin
 * that never saw them. In the other whatever can be read is taken for what it says, since nobody could tell it from the
 * truth; there every shot must also be permitted by the second model of the gate, told the same from the start.
 */

import { beforeAll, describe, expect, it } from 'vitest'
import { decodeNodeMessage } from '../../src/contract/decode.ts'
import type { NodeMessage } from '../../src/contract/message.ts'
import type { NodeTopic } from '../../src/contract/topic.ts'
import { inputOfMessage } from '../../src/reservoir/inbound.ts'
import type { Input } from '../../src/reservoir/input.ts'
import { LoopBench, NODE } from '../support/loop/bench.ts'
import { chance as chanceOf } from '../support/loop/chance.ts'
import { quarryLane } from '../support/loop/site.ts'
import { type Chance, spoil } from './mutate.ts'
import { notFinite } from './not-finite.ts'
import { secondOpinion } from './second-opinion.ts'

/** Spoilt messages in all; a campaign sends a million. */
const MESSAGES = Number(process.env['TARNWARD_FUZZ_MESSAGES'] ?? 50_000)
const SEED = 20_260_401
const FIRST = Number(process.env['TARNWARD_FUZZ_FIRST'] ?? 0)
/** Spoilt messages of a sitting, three of them in each of its minutes. */
const EACH = 120
const MINUTES = 40
const STRANGER = 'cellar'

let armed: LoopBench
/** what a sitting without any spoilt message does */
let twin: LoopBench
let messages: readonly NodeMessage[]

beforeAll(async () => {
  armed = new LoopBench(await quarryLane('automatic'))
  armed.start()
  armed.minutes(70)
  twin = continued()
  twin.minutes(MINUTES)
  messages = messagesOf(armed)
})

function continued(): LoopBench {
  const bench = new LoopBench(armed.configuration, armed.state)
  bench.nowMs = armed.nowMs
  for (const [pump, totalRunMs] of armed.totals) bench.totals.set(pump, totalRunMs)
  return bench
}

/** The newest real messages of every kind. */
function messagesOf({ log }: LoopBench): readonly NodeMessage[] {
  const told = log.flatMap(({ input }): NodeMessage[] => {
    if (input.kind === 'node-status') return [{ kind: 'status', message: input.status }]
    if (input.kind === 'heartbeat') return [{ kind: 'heartbeat', message: input.heartbeat }]
    if (input.kind === 'scan') return [{ kind: 'scan', message: input.scan }]
    if (input.kind === 'pump-report') return [{ kind: 'report', pump: input.pump, message: input.report }]
    return []
  })
  const kinds = ['status', 'heartbeat', 'scan', 'report'] as const
  return kinds.flatMap((kind) => told.filter((message) => message.kind === kind).slice(-6))
}

interface Tally {
  sent: number
  unread: number
  taken: number
  shots: number
  twinSittings: number
}

/** A spoilt message as it would come over a link: undefined where the decoder refuses it. */
function spoiltInput(chance: Chance, bench: LoopBench, node: string): Input | undefined {
  const valid = messages[Math.floor(chance() * messages.length)]!
  const pump = valid.kind === 'report' ? valid.pump : ''
  const topic: NodeTopic = valid.kind === 'report' ? { kind: 'report', node, pump } : { kind: valid.kind, node }
  // Half of them as of now, or each would be known as late by its node’s clock alone.
  const isNow = chance() < 0.5 && 'uptimeMs' in valid.message
  const message = isNow ? { ...valid.message, uptimeMs: bench.nowMs - bench.bootAtMs } : valid.message
  const decoded = decodeNodeMessage(topic, spoil(chance, message))
  return decoded.ok ? inputOfMessage(bench.nowMs, node, decoded.value) : undefined
}

function sit(chance: Chance, mayTouch: boolean, tally: Tally): LoopBench {
  const bench = continued()
  for (let minute = 0; minute < MINUTES; minute++) {
    for (let at = 0; at < EACH / MINUTES; at++) {
      tally.sent++
      const input = spoiltInput(chance, bench, mayTouch ? NODE : STRANGER)
      if (input === undefined) tally.unread++
      else {
        tally.taken++
        bench.give(input)
      }
    }
    bench.minutes(1)
  }
  return bench
}

/** Shots with their moments, as text. */
function shotsOf({ log }: LoopBench): readonly string[] {
  return log.flatMap(({ input, effects }) =>
    effects.flatMap((effect) => (effect.kind === 'command' ? [`${input.atMs} ${JSON.stringify(effect.shot)}`] : [])),
  )
}

describe('spoilt messages on an armed site that doses', () => {
  it(
    'throw nothing, leave only numbers in the core, and bring about no shot that would not have been permitted',
    () => {
      const tally: Tally = { sent: 0, unread: 0, taken: 0, shots: 0, twinSittings: 0 }
      expect(shotsOf(twin).length, 'the bench doses, or this proves nothing').toBeGreaterThan(1)
      expect(notFinite(twin.state.core, 'core')).toEqual([])
      for (let sitting = FIRST; tally.sent < MESSAGES; sitting++) {
        const chance = chanceOf(SEED + sitting)
        const mayTouch = chance() < 0.7
        const bench = sit(chance, mayTouch, tally)
        if (!mayTouch) {
          tally.twinSittings++
          expect(shotsOf(bench)).toEqual(shotsOf(twin))
          expect(bench.state.safety.book).toEqual(twin.state.safety.book)
          expect(bench.state.core!.history.filter).toEqual(twin.state.core!.history.filter)
        } else {
          const against = secondOpinion(bench.settings.limits, [...armed.log, ...bench.log])
          expect(against, `sitting ${sitting}: TARNWARD_FUZZ_FIRST begins with it`).toEqual([])
        }
        expect(notFinite(bench.state.core, 'core')).toEqual([])
        tally.shots += shotsOf(bench).length
      }
      console.log(
        `${tally.sent} spoilt messages, ${tally.unread} refused by the decoder, ${tally.taken} taken; ` +
          `${tally.shots} shots, each asked of the second model or of a twin (${tally.twinSittings} sittings)`,
      )
      expect(tally.unread).toBeGreaterThan(MESSAGES / 10)
      expect(tally.taken).toBeGreaterThan(MESSAGES / 10)
      expect(tally.shots).toBeGreaterThan(MESSAGES / EACH / 2)
    },
    60_000 + MESSAGES * 10,
  )
})
