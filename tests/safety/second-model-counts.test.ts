/** What a node says of one pump, in any order and right or wrong: gate and second model must make the same of it. */

import fc from 'fast-check'
import { expect, it } from 'vitest'
import type { Limits } from '../../src/safety/limits.ts'
import { LIMITS } from './bench.ts'
import { SETTLED } from './second-model/answers.ts'
import { deliveriesOf } from './second-model/deliveries.ts'
import { Gate } from './second-model/gate.ts'
import type { Sent } from './second-model/told.ts'

const T0_MS = 1_772_000_000_000
const SITE: Limits = { ...LIMITS, flowSteadyMs: 0 }
const HOUR_MAX_UL = 80_000
const WATER = { 'ec-1': 1.8, 'ph-1': 6, 'temperature-1': 20, 'level-1': 220, 'flow-1': 8 } as const

const word = fc.record({
  kind: fc.constantFrom('shot', 'beat', 'beat', 'beat', 'report', 'start anew', 'beat after a start anew'),
  waitMs: fc.constantFrom(0, 1000, 5000, 70_000),
  ranMs: fc.constantFrom(0, 0, 1, 400, 5000, 20_000, 20_400, -1, -400, -5000, -20_000),
  doubtMs: fc.constantFrom(0, 0, 0, 0, 700, 5000, 20_000, -1),
  earlierMs: fc.constantFrom(0, 0, 0, 1, 3000),
  isRunning: fc.boolean(),
})

type Word = typeof word extends fc.Arbitrary<infer One> ? One : never

class Pump {
  readonly gate = new Gate(SITE)
  private readonly memory = { totalRunMs: 50_000, doubtMs: 3000 }
  private atMs = T0_MS
  private boot = 1
  private bootAtMs = T0_MS - 3_600_000
  private sent: Sent | null = null

  constructor() {
    this.gate.tell({ kind: 'start', atMs: this.atMs, controller: 'desk', term: 1 })
    this.shoot()
  }

  hear(told: Word): void {
    this.atMs += told.waitMs
    if (told.kind.endsWith('start anew')) {
      this.boot += 1
      this.bootAtMs = this.atMs - 3001
    }
    if (told.kind === 'shot') return this.shoot()
    this.memory.totalRunMs += told.ranMs
    this.memory.doubtMs += told.doubtMs
    if (told.kind === 'report') this.report(told)
    else if (told.kind !== 'start anew') this.beat(told.earlierMs, told.isRunning)
  }

  /** A person resets what has tripped, all probes are read, and a shot is asked for. */
  private shoot(): void {
    const { gate, atMs } = this
    for (const trip of ['pump-ran-alone', 'pump-overran', 'totaliser-fell']) {
      const instruction = { instruction: 'reset', trip } as const
      gate.tell({ kind: 'instruction', atMs, by: 'Ada', reason: 'a try', instruction })
    }
    const pumps = [{ id: 'pump-3', maxRunMs: 120_000 }]
    const status = { contract: 1, online: true, boot: `boot-${this.boot}`, pumps }
    gate.tell({ kind: 'status', atMs, node: 'bench', status })
    this.beat(0, false)
    const readings = SITE.probes.map(({ id, role }) => {
      const value = WATER[id as keyof typeof WATER] + (atMs % 7) * 1e-6
      return { id, role, value, quality: 'good' as const }
    })
    gate.tell({ kind: 'readings', atMs, node: 'bench', readings })
    const sent = gate.shoot({ stock: 'nitrate', volumeUl: 10_000, planId: 'plan-1' }, atMs)
    if (sent !== null) gate.tell({ kind: 'edge', atMs, news: { edge: 'command-sent', commandId: sent.id } })
    this.sent = sent ?? this.sent
  }

  private beat(earlierMs: number, isRunning: boolean): void {
    const running = isRunning && this.sent !== null ? { runningId: this.sent.id } : {}
    const heartbeat = { ...this.clock(earlierMs), term: 1, pumps: [{ id: 'pump-3', ...this.memory, ...running }] }
    this.gate.tell({ kind: 'heartbeat', atMs: this.atMs, node: 'bench', heartbeat })
  }

  private report({ earlierMs, ranMs }: Word): void {
    if (this.sent === null) return
    const { id, pump } = this.sent
    const { totalRunMs } = this.memory
    const said = { id, state: 'stopped' as const, ranMs: Math.max(0, ranMs), totalRunMs }
    const report = { ...this.clock(earlierMs), ...said }
    this.gate.tell({ kind: 'report', atMs: this.atMs, node: 'bench', pump, report })
  }

  private clock(earlierMs: number) {
    return { boot: `boot-${this.boot}`, uptimeMs: this.atMs - this.bootAtMs - earlierMs }
  }

  /** What trips, and what of the hour is left, by both. */
  compare(): { readonly isTripped: boolean; readonly isOpen: boolean } {
    const { gate, atMs } = this
    const { trips, rows, unsettled } = deliveriesOf(SITE, gate.told, SETTLED)
    const inHour = [...rows.filter(({ endMs }) => endMs > atMs - 3_600_000), ...unsettled.map(inFull)]
    const leftUl = inHour.reduce((left, { highUl }) => left - highUl, HOUR_MAX_UL)
    const refusals = (volumeUl: number) => gate.refusals({ stock: 'nitrate', volumeUl, planId: 'plan-1' }, atMs)
    expect(refusals(1).includes('not-tripped'), 'tripped').toBe(trips.length > 0)
    expect(refusals(leftUl + 1), 'left of the hour').toContain('hour-bounded')
    expect(refusals(leftUl), 'left of the hour').not.toContain('hour-bounded')
    return { isTripped: trips.some(({ trip }) => trip === 'totaliser-fell'), isOpen: unsettled.length > 0 }
  }
}

function inFull({ volumeUl }: { readonly volumeUl: number }) {
  return { highUl: volumeUl }
}

it('gate and second model make the same of all that a node may say of a pump', { timeout: 120_000 }, () => {
  let fallen = 0
  let open = 0
  fc.assert(
    fc.property(fc.array(word, { minLength: 2, maxLength: 12 }), (words) => {
      const pump = new Pump()
      for (const told of words) {
        pump.hear(told)
        const seen = pump.compare()
        fallen += seen.isTripped ? 1 : 0
        open += seen.isOpen ? 1 : 0
      }
    }),
    { numRuns: 400, seed: 7 },
  )
  expect(fallen).toBeGreaterThan(200)
  expect(open).toBeGreaterThan(200)
})
