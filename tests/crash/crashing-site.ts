/** Six hours of a hungry bench whose daemon dies again and again, beside a plant that goes on meanwhile. */

import { createRandom, type RandomStream } from '../../simulator/random.ts'
import type { Scenario } from '../../simulator/scenario.ts'
import { createWorld, type NodeEmission, type World } from '../../simulator/world.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { configurationHash } from '../../src/config/configuration-hash.ts'
import type { SqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import { inputOfMessage } from '../../src/reservoir/inbound.ts'
import type { LaboratoryResult } from '../../src/reservoir/input.ts'
import type { ReservoirSettings } from '../../src/reservoir/state.ts'
import { createLockstepClock, type LockstepClock } from '../../src/shell/clock.ts'
import { createLeaseKeeper, type LeaseKeeper } from '../../src/shell/lease.ts'
import { Loop } from '../../src/shell/loop.ts'
import type { UnstampedInput } from '../../src/shell/loop-input.ts'
import type { NodeLink } from '../../src/shell/node-link.ts'
import { openReservoir } from '../../src/shell/open-reservoir.ts'
import { createWatch } from '../../src/trial/watch.ts'
import { type DeathTurns, deathTurns } from './death-turns.ts'
import { type Death, type MortalLedger, mortalLedger } from './mortal-ledger.ts'

const MINUTE_MS = 60_000
const MINUTES = 6 * 60
/** Then it lives undisturbed, and held for the last of them, until every command has found its end. */
const CALM_MINUTES = 20
const HELD_MINUTES = 8
/** As seldom as a site may, since most of a quiet minute’s cost is hearing that nothing changed. */
const HEARTBEAT_MS = 60_000
const SCAN_MS = 120_000
const LEASE_MS = 180_000

export interface CrashPlan {
  readonly configuration: Configuration
  readonly scenario: Scenario
  readonly ledger: SqliteLedger
  readonly reservoirId: string
  readonly seed: number
  /** which of the `turns` that together die at every durable point */
  readonly turn: number
  readonly turns: number
  readonly when: Death['when']
}

export interface Aftermath {
  readonly deaths: number
  /** ids handed to the link, with repetitions if there were any */
  readonly handed: readonly string[]
  /** ids of runs that a node said it accepted */
  readonly accepted: readonly string[]
  readonly acknowledged: readonly { readonly sequence: number; readonly json: string }[]
  /** laboratory results that somebody was told were taken */
  readonly resultsTaken: readonly string[]
  readonly violations: readonly string[]
  /** what the loop itself found wrong */
  readonly faults: readonly string[]
  readonly pumps: ReturnType<World['truth']>['pumps']
}

/** Lives the hours through; what the nodes report while no daemon lives waits for it, as a broker would keep it. */
export async function liveThroughCrashes(plan: CrashPlan): Promise<Aftermath> {
  const site = new CrashingSite(plan)
  for (let minute = 1; minute <= MINUTES + CALM_MINUTES; minute++) await site.live(minute)
  return site.aftermath()
}

interface Life {
  readonly ledger: MortalLedger
  readonly clock: LockstepClock
  readonly loop: Loop
  readonly leases: LeaseKeeper
}

class CrashingSite {
  readonly #plan: CrashPlan
  readonly #world: World
  readonly #settings: ReservoirSettings
  readonly #hash: string
  readonly #watch: ReturnType<typeof createWatch>
  readonly #handed: string[] = []
  readonly #accepted: string[] = []
  readonly #acknowledged: { sequence: number; json: string }[] = []
  readonly #resultsTaken: string[] = []
  readonly #faults: string[] = []
  readonly #random: RandomStream
  readonly #turns: DeathTurns
  readonly #statuses = new Map<string, NodeEmission>()
  #waiting: NodeEmission[] = []
  #life: Life | undefined
  #deaths = 0
  #downUntilMinute = 0
  #nowMs: number

  constructor(plan: CrashPlan) {
    this.#plan = plan
    this.#world = createWorld(plan.scenario, plan.seed, { heartbeatMs: HEARTBEAT_MS, scanMs: SCAN_MS })
    this.#settings = reservoirSettings(plan.configuration)
    this.#hash = configurationHash(plan.configuration)
    this.#watch = createWatch(plan.configuration)
    this.#random = createRandom(plan.seed, `crash ${plan.turn} ${plan.when}`)
    this.#turns = deathTurns(plan.turn, plan.turns, createRandom(plan.seed, 'turns of death'))
    this.#nowMs = this.#world.startMs
  }

  async live(minute: number): Promise<void> {
    this.#nowMs = this.#world.startMs + minute * MINUTE_MS
    if (minute > MINUTES) this.#turns.end()
    if (this.#life) this.#life.clock.advance(this.#nowMs - this.#life.clock.wallMs())
    for (const emission of this.#world.advanceTo(this.#nowMs)) this.#hear(emission)
    if (!this.#life && minute >= this.#downUntilMinute) await this.#beBorn(minute)
    for (let next = this.#waiting.shift(); next; next = this.#waiting.shift()) {
      if (!this.#life) {
        this.#waiting = [next, ...this.#waiting].filter(({ message }) => isKept(message))
        break
      }
      await this.#deliver(next, minute)
    }
    if (minute % 90 === 0) await this.#addResult(minute)
    if (minute >= MINUTES + CALM_MINUTES - HELD_MINUTES) await this.#hold(minute)
    await this.#take({ kind: 'tick' }, minute)
  }

  async #hold(minute: number): Promise<void> {
    if (this.#life?.loop.state.safety.held) return
    const held = { by: 'tests', reason: 'the end', instruction: { instruction: 'hold' } } as const
    await this.#take({ kind: 'instruction', ...held }, minute)
  }

  aftermath(): Aftermath {
    const { violations } = this.#watch
    const shown = { deaths: this.#deaths, handed: this.#handed, accepted: this.#accepted, violations }
    const acknowledged = [...this.#acknowledged, ...(this.#life?.ledger.acknowledged ?? [])]
    return {
      ...shown,
      acknowledged,
      resultsTaken: this.#resultsTaken,
      faults: this.#faults,
      pumps: this.#world.truth().pumps,
    }
  }

  #hear(emission: NodeEmission): void {
    const { atMs, node, message } = emission
    this.#watch.look(atMs, node, message)
    if (message.kind === 'status') this.#statuses.set(node, emission)
    if (message.kind === 'report' && message.message.state === 'accepted') this.#accepted.push(message.message.id)
    if (this.#life || isKept(message)) this.#waiting.push(emission)
  }

  /** A message in hand at the moment of death was acknowledged to the broker, or it was not: either may be. */
  async #deliver(emission: NodeEmission, minute: number): Promise<void> {
    const { node, message } = emission
    if (message.kind === 'heartbeat') this.#life!.leases.heard(node, message.message.boot, message.message.uptimeMs)
    const { atMs: _stampedByTheLoop, ...input } = inputOfMessage(0, node, message)
    const isTaken = await this.#take(input, minute)
    if (isTaken === undefined && isKept(message) && this.#random.uniform() < 0.5) this.#waiting.unshift(emission)
  }

  async #addResult(minute: number): Promise<void> {
    const result: LaboratoryResult = {
      id: `bottle-${minute}`,
      sampledAtMs: this.#nowMs - 30 * MINUTE_MS,
      values: [{ element: 'K', mgPerL: this.#world.truth().mgPerL.K }],
    }
    if (await this.#take({ kind: 'laboratory-result', by: 'tests', result }, minute)) this.#resultsTaken.push(result.id)
  }

  /** Undefined where the daemon is dead, or died of it. */
  async #take(input: UnstampedInput, minute: number): Promise<boolean | undefined> {
    const life = this.#life
    if (!life) return undefined
    const isTaken = await Promise.race([life.loop.take(input), life.ledger.died.then(() => undefined)])
    if (life.ledger.isDead) this.#bury(life, minute)
    return isTaken
  }

  #bury(life: Life, minute: number): void {
    this.#deaths++
    this.#acknowledged.push(...life.ledger.acknowledged)
    this.#life = undefined
    this.#downUntilMinute = minute + Math.floor(this.#random.uniform() * 4)
  }

  async #beBorn(minute: number): Promise<void> {
    const { ledger: kept, reservoirId, when } = this.#plan
    this.#turns.begin()
    const ledger = mortalLedger(kept, { isDue: (point) => this.#turns.isDue(point), when })
    const controller = 'tarnward-crash'
    const term = await kept.raiseTerm(reservoirId, controller)
    const clock = createLockstepClock(this.#nowMs)
    const opened = await openReservoir(ledger, reservoirId, this.#settings, this.#hash, clock.wallMs())
    const link = this.#link(ledger)
    const leases = createLeaseKeeper({
      ...{ clock, link, controller, leaseMs: LEASE_MS },
      term: () => term,
      loopHealthy: () => true,
    })
    const loop = new Loop({
      ...{ settings: this.#settings, configurationHash: this.#hash, reservoirId, term, ledger, clock, link },
      state: opened.state,
      headSequence: opened.headSequence,
      leases: () => leases,
      onEffect: () => {},
      startAgain: async () => Promise.reject(new Error('this disk takes everything')),
      onStartedAgain: () => {},
      onFenced: () => this.#faults.push('fenced, though nobody else has the reservoir'),
      onFault: (fault) => this.#faults.push(fault.message),
      onBroken: (error) => this.#faults.push(String(error)),
    })
    this.#life = { ledger, clock, loop, leases }
    await this.#take({ kind: 'start', controller, term, utcOffsetMin: 0 }, minute)
    await this.#take({ kind: 'edge', news: { edge: 'link', up: true } }, minute)
    // A broker tells at a new subscription what it holds of each node.
    for (const status of this.#statuses.values()) if (this.#life) await this.#deliver(status, minute)
  }

  #link(ledger: MortalLedger): Pick<NodeLink, 'sendCommand' | 'sendLease'> {
    return {
      sendCommand: async (node, pump, message) => {
        if (ledger.isDead) throw new Error('the dead hand over nothing')
        this.#handed.push(message.id)
        this.#world.receive(this.#nowMs, node, { kind: 'command', pump, message })
        return 'sent'
      },
      sendLease: (node, message) => this.#world.receive(this.#nowMs, node, { kind: 'lease', message }),
    }
  }
}

/** What is sent with quality of service 1 waits for a daemon that is away; readings and heartbeats do not. */
function isKept(message: NodeEmission['message']): boolean {
  return message.kind === 'report' || message.kind === 'status'
}
