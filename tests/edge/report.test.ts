import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { chromium } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { LedgerRecord } from '../../src/reservoir/record.ts'
import { createHttp } from '../../src/shell/http.ts'
import { reportFacts } from '../../src/shell/report/facts.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'
import { type ApiSite, apiSite } from '../unit/shell/api-site.ts'

/** What somebody might call themselves, or a file, to be run by whoever reads the report. */
const HOSTILE = '<img src=x onerror="document.title=1">'
let site: ApiSite
let text: string
let headers: Record<string, unknown>
let period: { readonly fromMs: number; readonly untilMs: number }

/** A bench of 30 hours whose person signs in a hostile way. */
beforeAll(async () => {
  site = await apiSite(30)
  const doneAtMs = site.clock.wallMs() - 60_000
  await site.view.tell({ kind: 'act', by: HOSTILE, act: { act: 'drained', doneAtMs, volumeL: 5 } })
  await site.view.tell({
    kind: 'act',
    by: 'Ines',
    act: { act: 'stock-refilled', doneAtMs, stock: 'nitrate', volumeMl: 9000 },
  })
  const limit = { instruction: 'limit', limit: 'stocks.nitrate.shotMaxMl', value: 20 } as const
  await site.view.instruct('Ines', `${HOSTILE} new tubes`, limit)
  const result = { id: HOSTILE, sampledAtMs: doneAtMs - 3_600_000, values: [{ element: 'K', mgPerL: 190 }] }
  await site.view.tell({ kind: 'laboratory-result', by: 'Ines', result })
  await site.live(30)
  period = { fromMs: site.world.startMs, untilMs: site.clock.wallMs() }
  const server = createHttp({ view: site.view, site: site.site, port: 0, clock: site.clock })
  const url = `/api/report?from=${period.fromMs}&to=${period.untilMs}`
  const answer = await server.inject({ method: 'GET', url, headers: { host: 'localhost' } })
  text = answer.body
  headers = answer.headers
  await server.close()
}, 180_000)
afterAll(() => site.stop())

describe('the report of a period', () => {
  it('tells of each stock what the ledger tells', async () => {
    const settled: readonly Extract<LedgerRecord, { kind: 'settled' }>[] = await site.site.records(['settled'], period)
    const { use } = await reportFacts(site.site, period)
    expect(use.stocks.some(({ shots }) => shots > 0)).toBe(true)
    for (const { stock, highMl, lowMl, shots } of use.stocks) {
      const own = settled.filter((record) => record.stock === stock && record.delivered.highUl > 0)
      expect(shots).toBe(own.length)
      expect(highMl).toBeCloseTo(own.reduce((sum, { delivered }) => sum + delivered.highUl, 0) / 1000, 6)
      expect(text).toContain(
        `<tr><th scope="row">${stock}</th><td>${shots}</td><td>${lowMl.toFixed(1)}</td><td>${highMl.toFixed(1)}</td>`,
      )
    }
    const observed = await site.site.records(['observed'], period)
    const meteredL = observed.reduce((sum, { observation }) => sum + (observation.topUpL ?? 0), 0)
    expect(use.makeUpL).toBeCloseTo(meteredL, 6)
    expect(use.dischargedL).toBe(5)
  })

  it('tells of batches, limits and acts who, when and why', () => {
    const words = text.replaceAll(/<[^>]+>/g, ' ')
    expect(words).toMatch(/Ines\s+nitrate refilled to 9000 mL/)
    expect(words).toMatch(/limit stocks\.nitrate\.shotMaxMl set to 20/)
    expect(words).toContain('5 L let go')
    expect(words).toContain('Beside a change every 14 days')
  })

  it('is read without its drawings: each has the same in a sentence', () => {
    const words = text.replaceAll(/<svg.*?<\/svg>/gs, '').replaceAll(/<[^>]+>/g, ' ')
    expect(words).toMatch(
      /K\s+band \d+ to \d+, aim \d+; believed \d+ at first and \d+ \(\d+ to \d+\) at last.*laboratory 190\./,
    )
  })

  it('is text only, whatever people call themselves and their files', () => {
    expect(text).not.toContain('<img')
    expect(text).toContain('&lt;img src=x onerror=&quot;document.title=1&quot;&gt;')
    expect(text).not.toMatch(/<script|https?:\/\//)
    expect(headers['content-security-policy']).toContain("default-src 'none'")
  })

  it('opens in a browser from the disk without an error or a request, and on a phone no wider than the phone', async () => {
    const file = join(scratchFolder(), 'report.html')
    await writeFile(file, text)
    const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] })
    try {
      const page = await browser.newPage({ viewport: { width: 360, height: 740 } })
      const troubles: string[] = []
      page.on('console', (message) => troubles.push(message.text()))
      page.on('pageerror', (error) => troubles.push(String(error)))
      page.on('request', (request) => {
        if (request.url() !== pathToFileURL(file).href) troubles.push(request.url())
      })
      await page.goto(pathToFileURL(file).href)
      const width = await page.evaluate<number>('document.documentElement.scrollWidth')
      const drawings = await page.locator('svg polyline').count()
      expect(troubles).toEqual([])
      expect(await page.title()).toMatch(/^quarry-lane, \d{4}/)
      expect(width).toBeLessThanOrEqual(360)
      expect(drawings).toBe(15)
    } finally {
      await browser.close()
    }
  })
})
