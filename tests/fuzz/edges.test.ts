/**
 * Spoilt messages at the real edges of a daemon whose bench doses: a broker, a line, HTTP, files. In one sitting they come
 * from nodes and people nobody knows, and every shot must be that of a twin that never heard them; in the other they come
 * from the bench’s own node and from somebody signed in, where what can be read is believed, and every shot must be
 * permitted by the second model of the gate, told the same.
 */

import { writeFileSync } from 'node:fs'
import { cp, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { loadConfiguration } from '../../src/config/load-configuration.ts'
import type { NodeMessage } from '../../src/contract/message.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import type { Effect } from '../../src/reservoir/effect.ts'
import type { Input } from '../../src/reservoir/input.ts'
import { Loop } from '../../src/shell/loop.ts'
import { chance as chanceOf } from '../support/loop/chance.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'
import { BENCH, type EdgeSite, openEdgeSite } from './edge-site.ts'
import { type Chance, damage, spoil } from './mutate.ts'
import { notFinite } from './not-finite.ts'
import { type Happened, secondOpinion } from './second-opinion.ts'
import { frameOf, requestOf, topicOf } from './spoilt-mail.ts'

/** Spoilt messages in all, half of them in each sitting; the campaign sends twenty thousand. */
const MESSAGES = Number(process.env['TARNWARD_EDGE_MESSAGES'] ?? 400)
const BEFORE_MIN = 130
const MINUTES = 100
const STRANGER = 'cellar'

const open: EdgeSite[] = []
afterEach(async () => {
  vi.restoreAllMocks()
  for (const site of open.splice(0)) await site.close()
})

type Asked = Map<Loop, { input: Input; effects: readonly Effect[] }[]>

/** What every loop is asked, in order, with what came of it; what was not taken has no effects. */
function listenToLoops(): Asked {
  const asked: Asked = new Map()
  const ask = Loop.prototype.ask
  vi.spyOn(Loop.prototype, 'ask').mockImplementation(async function (this: Loop, unstamped) {
    const happened = { input: { ...unstamped, atMs: this.state.atMs } as Input, effects: [] as readonly Effect[] }
    const before = asked.get(this) ?? []
    if (before.length === 0) asked.set(this, before)
    before.push(happened)
    const effects = await ask.call(this, unstamped)
    happened.input = { ...happened.input, atMs: this.state.atMs }
    happened.effects = effects ?? []
    return effects
  })
  return asked
}

interface Tally {
  broker: number
  line: number
  http: number
  files: number
  refusedByHttp: number
  brokenFiles: number
}

interface Sitting {
  readonly site: EdgeSite
  readonly chance: Chance
  readonly known: boolean
  readonly happened: readonly Happened[]
}

async function sit({ site, chance, known, happened }: Sitting, tally: Tally): Promise<void> {
  await site.live(BEFORE_MIN)
  const told = newestMessages(happened)
  for (let minute = 0, sent = 0; minute < MINUTES; minute++) {
    for (; sent < ((minute + 1) * MESSAGES) / (2 * MINUTES); sent++)
      await sendSpoilt(site, chance, { known, told, tally })
    await site.heard()
    await site.live(1)
  }
}

interface Sending {
  readonly known: boolean
  readonly told: readonly NodeMessage[]
  readonly tally: Tally
}

async function sendSpoilt(site: EdgeSite, chance: Chance, { known, told, tally }: Sending): Promise<void> {
  const way = chance()
  const valid = told[Math.floor(chance() * told.length)]!
  const text = spoil(chance, valid.message)
  if (way < 0.45) {
    tally.broker++
    await site.publish(topicOf(valid, known ? BENCH : STRANGER), text)
  } else if (way < 0.75) {
    tally.line++
    site.write(frameOf(chance, valid, text))
  } else if (way < 0.97) {
    tally.http++
    const { path, body } = requestOf(chance, site.clock.wallMs())
    const status = await site.post(path, body, known)
    expect(status, `${path} ${body}`).toBeLessThan(500)
    if (status >= 400) tally.refusedByHttp++
  } else {
    tally.files++
    if (!(await readsSpoiltSite(chance))) tally.brokenFiles++
  }
}

/** A site file that somebody broke is read, or refused with places; it throws nothing. */
async function readsSpoiltSite(chance: Chance): Promise<boolean> {
  const folder = scratchFolder()
  await cp('config', folder, { recursive: true })
  const path = join(folder, 'example', chance() < 0.5 ? 'site.yaml' : 'limits.yaml')
  writeFileSync(path, damage(chance, await readFile(path, 'utf8')))
  const read = await loadConfiguration(join(folder, 'example/site.yaml'))
  if (!read.ok) expect(read.errors.length).toBeGreaterThan(0)
  return read.ok
}

/** The newest real messages of every kind. */
function newestMessages(happened: readonly Happened[]): readonly NodeMessage[] {
  const told = happened.flatMap(({ input }): NodeMessage[] => {
    if (input.kind === 'node-status') return [{ kind: 'status', message: input.status }]
    if (input.kind === 'heartbeat') return [{ kind: 'heartbeat', message: input.heartbeat }]
    if (input.kind === 'scan') return [{ kind: 'scan', message: input.scan }]
    if (input.kind === 'pump-report') return [{ kind: 'report', pump: input.pump, message: input.report }]
    return []
  })
  const kinds = ['status', 'heartbeat', 'scan', 'report'] as const
  return kinds.flatMap((kind) => told.filter((message) => message.kind === kind).slice(-6))
}

/** As text without the mark of its ledger, which is drawn anew for every site. */
function unmarked(value: unknown): string {
  return JSON.stringify(value).replaceAll(/(?<="|-)[0-9a-f]{6}(-(?=\d+-\d+")|(?="))/g, '')
}

/** Shots with their moments. */
function shotsOf(happened: readonly Happened[]): readonly string[] {
  return happened.flatMap(({ input, effects }) =>
    effects.flatMap((effect) => (effect.kind === 'command' ? [`${input.atMs} ${unmarked(effect.shot)}`] : [])),
  )
}

function expectAlive({ daemon, fatal }: EdgeSite): void {
  expect(fatal).toEqual([])
  expect(daemon.loop.isStopped).toBe(false)
  expect(notFinite(daemon.loop.state.core, 'core')).toEqual([])
}

describe('spoilt messages at the real edges: broker, line, HTTP, files', () => {
  it(
    'throw nothing, leave only numbers in the core, and bring about no shot that would not have been permitted',
    async () => {
      const asked = listenToLoops()
      const opened = async (lineNode: string) => {
        const site = await openEdgeSite(lineNode)
        open.push(site)
        return { site, happened: asked.get(site.daemon.loop) ?? [] }
      }
      const tally: Tally = { broker: 0, line: 0, http: 0, files: 0, refusedByHttp: 0, brokenFiles: 0 }
      const twin = await opened(STRANGER)
      await twin.site.live(BEFORE_MIN + MINUTES)
      const shots = shotsOf(twin.happened)
      expect(shots.length, 'the bench doses, or this proves nothing').toBeGreaterThan(2)

      const strange = await opened(STRANGER)
      await sit({ ...strange, chance: chanceOf(20_260_501), known: false }, tally)
      expectAlive(strange.site)
      expect(shotsOf(strange.happened)).toEqual(shots)
      const speakers = strange.happened.map(({ input }) => ('node' in input ? input.node : BENCH))
      expect(new Set(speakers)).toEqual(new Set([BENCH]))
      const bookOf = ({ site }: { readonly site: EdgeSite }) => unmarked(site.daemon.loop.state.safety.book)
      expect(bookOf(strange)).toBe(bookOf(twin))

      const believed = await opened(BENCH)
      await sit({ ...believed, chance: chanceOf(20_260_502), known: true }, tally)
      expectAlive(believed.site)
      const { limits } = reservoirSettings(believed.site.configuration)
      expect(secondOpinion(limits, believed.happened)).toEqual([])

      const said = Object.entries(tally).map(([name, count]) => `${name} ${count}`)
      const given = [strange, believed].map(({ happened }) => shotsOf(happened).length)
      console.log(`spoilt messages: ${said.join(', ')}; shots: ${given.join(' and ')}`)
      expect(tally.broker + tally.line + tally.http + tally.files).toBeGreaterThanOrEqual(MESSAGES)
      for (const count of Object.values(tally)) expect(count).toBeGreaterThan(0)
    },
    120_000 + MESSAGES * 200,
  )
})
