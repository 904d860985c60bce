import type { FastifyInstance } from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { diagnosisText } from '../../../src/cli/diagnose.ts'
import type { Diagnosis, Learning } from '../../../src/shell/api/schema/diagnosis.ts'
import { createHttp } from '../../../src/shell/http.ts'
import { type ApiSite, apiSite } from './api-site.ts'

/** TARNWARD_QUIET=1 holds the search to its goal. */
const SLACK = process.env['TARNWARD_QUIET'] ? 1 : 15
/** A heartbeat, a report and a person’s hold wait for no longer. */
const BLOCKED_MAX_MS = 50

let site: ApiSite
let server: FastifyInstance

beforeAll(async () => {
  site = await apiSite(60)
  server = createHttp({ view: site.view, site: site.site, port: 0 })
}, 120_000)
afterAll(async () => {
  await server.close()
  await site.stop()
})

const get = async <Answer>(url: string): Promise<Answer> =>
  (await server.inject({ url, headers: { host: 'localhost' } })).json() as Answer

/** The longest that nothing else got a turn while the work went on. */
async function longestBlockMs(work: Promise<unknown>): Promise<number> {
  let isOver = false
  let longestMs = 0
  let last = performance.now()
  void work.finally(() => {
    isOver = true
  })
  while (!isOver) {
    await new Promise((done) => setImmediate(done))
    longestMs = Math.max(longestMs, performance.now() - last)
    last = performance.now()
  }
  return longestMs
}

describe('what may have gone wrong unseen', () => {
  it('is looked for without keeping the loop waiting, and the shares add up to no more than all', async () => {
    const asked = get<Diagnosis>('/api/diagnosis')
    const blockedMs = await longestBlockMs(asked)
    process.stdout.write(`diagnosis: nothing else had a turn for ${blockedMs.toFixed(0)} ms at the most\n`)
    expect(blockedMs).toBeLessThan(BLOCKED_MAX_MS * SLACK)
    const { text, nothingShare, explanations } = await asked
    expect(text).not.toBe('')
    const sum = explanations.reduce((total, { share }) => total + share, nothingShare ?? 0)
    expect(sum).toBeGreaterThan(0.5)
    expect(sum).toBeLessThan(1 + 1e-9)
    for (const { sentence, check } of explanations) expect(`${sentence}${check}`).toMatch(/^[A-Z].+[.].*[.]$/)
  }, 120_000)

  it('is looked for once, however many ask meanwhile', async () => {
    await site.live(15)
    const beganMs = performance.now()
    await get('/api/diagnosis')
    const onceMs = performance.now() - beganMs
    const againMs = performance.now()
    await Promise.all([get('/api/diagnosis'), get('/api/diagnosis'), get('/api/diagnosis')])
    expect(performance.now() - againMs).toBeLessThan(Math.max(50, onceMs))
  }, 120_000)

  it('is printed with each cause, its likelihood and what to look at', () => {
    const text = diagnosisText({
      text: 'One cause stands out.',
      period: { fromMs: 0, untilMs: 3_600_000 },
      nothingShare: 0.06,
      explanations: [{ id: 'a', share: 0.9, sinceMs: 0, sentence: 'The pump is weak.', check: 'Run it into a glass.' }],
    })
    expect(text).toContain('90 %  The pump is weak. Since about 1970-01-01 00:00.')
    expect(text).toContain('To find out: Run it into a glass.')
    expect(text).toContain('6 %  Nothing out of the ordinary.')
  })
})

describe('what the site has taught', () => {
  it('is told factor by factor against where it began, and a reset is told with who and why', async () => {
    const before = await get<Learning>('/api/learning')
    expect(before.text).toMatch(/No report yet/)
    expect(before.factors.map(({ name }) => name)).toEqual(
      expect.arrayContaining([
        'growth of the crop',
        'uptake of K',
        'strength of the nitrate bottle',
        'pH probe, offset',
      ]),
    )
    await site.view.instruct('Ines', 'another crop', { instruction: 'reset-learning' })
    const { resets } = await get<Learning>('/api/learning')
    expect(resets).toMatchObject([{ by: 'Ines', reason: 'another crop' }])
  })
})
