import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { findChromium, launch, visit } from './chromium.ts'
import { lineTo } from './drop-line.ts'
import { openPopulatedSite, type PopulatedSite } from './populated-site.ts'

/** TARNWARD_QUIET=1 holds the page to its goals. */
const SLACK = process.env['TARNWARD_QUIET'] ? 1 : 15

const program = findChromium()
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const VIEWS = ['reservoir', 'laboratory', 'doses', 'alarms', 'desk', 'limits', 'setting-up', 'records'] as const
/** A phone and a desk, by day and by night. */
const LOOKS = [1280, 390].flatMap((width) =>
  (['light', 'dark'] as const).map((colorScheme) => ({ width, colorScheme })),
)
/** What is folded is looked at as well, as far as it is of different kinds. */
const OPEN_SOME = "[...document.querySelectorAll('main details')].slice(0, 4).forEach((one) => { one.open = true })"
/** What can be pressed and is lower than 44 px (WCAG 2.2, 2.5.5); a box to tick is pressed by its words. */
const SMALL_TARGETS = `[...document.querySelectorAll('a, button, summary, select, textarea, input:not([type=checkbox])')]
  .filter((one) => one.checkVisibility() && !one.matches('.skip') && one.getBoundingClientRect().height < 43.5)
  .map((one) => one.tagName + ' ' + one.textContent.slice(0, 40) + ' ' + one.getBoundingClientRect().height)`
const PATIENCE_MS = 60_000
const HOUR_MS = 3_600_000
/** From the start of the navigation until hold can be pressed and the elements are there. */
const WATCH = `new MutationObserver((_, observer) => {
  if (!document.querySelector('.hold-button') || !document.querySelector('.element')) return
  window.interactiveMs = performance.now()
  observer.disconnect()
}).observe(document, { childList: true, subtree: true })`
/** The quickest finger there is: a link is followed in the very task in which it was drawn. */
const TOUCH_AT_ONCE = `new MutationObserver((_, observer) => {
  if (!document.querySelector('a[href="#/doses"]')) return
  observer.disconnect()
  location.hash = '#/doses'
}).observe(document, { childList: true, subtree: true })`
/** From the press on “Month” until charts that begin that far back are drawn. */
const MONTH = `new Promise((resolve) => {
  const button = [...document.querySelectorAll('button')].find(({ textContent }) => textContent === 'Month')
  const figures = document.querySelector('.figures')
  const beganMs = performance.now()
  const before = Number(figures.dataset.from)
  new MutationObserver((_, observer) => {
    if (before - Number(figures.dataset.from) < 20 * 86400000) return
    observer.disconnect()
    requestAnimationFrame(() => requestAnimationFrame(() => resolve(performance.now() - beganMs)))
  }).observe(figures, { attributes: true })
  button.click()
})`
/** The middle of five: from the moment the daemon stamps a scan until a reading on the screen has changed. */
const SCAN = `new Promise((resolve) => {
  const taken = []
  let scanAtMs = 0
  const stream = new EventSource('/api/events')
  stream.addEventListener('scan', ({ data }) => { scanAtMs = JSON.parse(data).atMs })
  new MutationObserver((_, observer) => {
    if (scanAtMs === 0) return
    taken.push(Date.now() - scanAtMs)
    scanAtMs = 0
    if (taken.length < 5) return
    observer.disconnect()
    stream.close()
    resolve(taken.sort((one, other) => one - other)[2])
  }).observe(document.querySelector('dl.readings'), { childList: true, subtree: true, characterData: true })
})`
let site: PopulatedSite
let browser: Browser

interface Violation {
  readonly id: string
  readonly nodes: readonly { readonly html: string }[]
}

/** Shown and filled: what a view fetches for itself has come. */
async function settle(page: Page, view: string): Promise<void> {
  await page.goto(`${page.url().split('#')[0]}#/${view}`)
  await page.locator('main section, main fieldset').first().waitFor({ timeout: PATIENCE_MS })
  await page.waitForLoadState('load')
  await page.getByText('Fetching…').waitFor({ state: 'detached', timeout: PATIENCE_MS })
  await page.waitForTimeout(view === 'desk' ? 2500 : 700)
}

describe.skipIf(program === undefined)('the page', () => {
  beforeAll(async () => {
    site = await openPopulatedSite()
    browser = await launch(program!)
    await site.tell('/api/act', { act: { act: 'noted', text: 'tips of the basil are pale' } })
    await site.tell('/api/laboratory', {
      ...{ fileName: 'first.csv', text: 'Parameter,Result,Unit\nK,205,mg/L\nNO3-N,150,mg/L\nCa,140,mg/L' },
      ...{ sampledAt: new Date(Date.now() - 30 * HOUR_MS).toISOString(), accept: true },
    })
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await site?.close()
  })

  it.each(LOOKS)(
    'has nothing in any view that somebody could not read or reach, at $width px and $colorScheme',
    async ({ width, colorScheme }) => {
      const { page, leave } = await visit(browser, { url: site.url, token: site.token, width, colorScheme })
      const found: string[] = []
      for (const view of VIEWS) {
        await settle(page, view)
        await page.evaluate(OPEN_SOME)
        if ((await page.evaluate('typeof axe')) === 'undefined') await page.evaluate(AXE)
        // in the dark the same things stand in the same places, in other colours
        const rules = colorScheme === 'dark' ? "runOnly: ['color-contrast']," : ''
        const run = `axe.run({ ${rules} resultTypes: ['violations'] })`
        const { violations } = (await page.evaluate(run)) as { violations: readonly Violation[] }
        for (const { id, nodes } of violations)
          found.push(`${view}: ${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`)
      }
      expect(found).toEqual([])
      await leave()
    },
    300_000,
  )

  it('never scrolls sideways on a phone of 320 px, and has nothing that a wet finger would miss, in no view', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token, width: 320 })
    const wide: string[] = []
    for (const view of VIEWS) {
      await settle(page, view)
      const over = await page.evaluate('document.documentElement.scrollWidth - document.documentElement.clientWidth')
      if (Number(over) > 0) wide.push(`${view}: ${over} px`)
      for (const target of (await page.evaluate(SMALL_TARGETS)) as readonly string[]) wide.push(`${view}: ${target}`)
    }
    expect(wide).toEqual([])
    await leave()
  }, 120_000)

  it('is reached by keyboard: skip link, then hold, and hold and its release work without a mouse', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token })
    await page.getByRole('heading', { name: 'Readings' }).waitFor()
    const focused = () => page.evaluate('document.activeElement.textContent.trim()')
    await page.keyboard.press('Tab')
    expect(await focused()).toBe('To the content')
    await page.keyboard.press('Tab')
    expect(await focused()).toBe('Hold all dosing')
    await page.keyboard.press('Enter')
    await page.getByRole('button', { name: 'Dosing is on hold' }).waitFor()
    const tabTo = async (text: RegExp) => {
      for (let presses = 0; presses < 60; presses++) {
        await page.keyboard.press('Tab')
        if (text.test(String(await focused()))) return
      }
      throw new Error(`no way by Tab to ${text}`)
    }
    await tabTo(/^Release the hold/)
    await page.keyboard.press('Enter')
    await page.keyboard.press('Tab')
    await page.keyboard.type('looked at it')
    await page.keyboard.press('Enter')
    await page.getByRole('button', { name: 'Hold all dosing' }).waitFor()
    await leave()
  })

  it('lists a day of doses lightly, and tells the figures of a shot to whoever unfolds them', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token })
    await settle(page, 'doses')
    const elements = 'document.querySelectorAll("*").length'
    expect(await page.evaluate(elements)).toBeLessThan(4000)
    const shot = page.locator('[aria-labelledby=shots-title] li.shot').first()
    await shot.getByText('Figures').click()
    await shot.getByText('given within the hour').waitFor({ timeout: PATIENCE_MS })
    expect(await shot.locator('dl').first().textContent()).toMatch(/asked for\d+(\.\d+)?\smL/)
    await leave()
  })

  it('charts how much water was used, with what a day takes', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token })
    const trends = page.locator('[aria-labelledby=trends-title]')
    await trends.getByLabel('Show').selectOption('water used')
    await trends.getByText(/\d+\sL of make-up water in this time, \d+(\.\d+)?\sL a day/).waitFor()
    expect(await trends.locator('canvas').count()).toBe(1)
    await leave()
  })

  it('tells everything on the first view in the units that were chosen, the daemon’s sentences too', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token })
    const chosen = JSON.stringify({ concentration: 'ppm', volume: 'gal', temperature: '°F' })
    await page.evaluate(`localStorage.setItem('preferences', ${JSON.stringify(chosen)})`)
    for (const view of ['reservoir', 'alarms', 'doses']) {
      await page.reload()
      await settle(page, view)
      const told = await page.locator('main').textContent()
      if (view === 'reservoir') for (const unit of ['ppm', 'gal', '°F']) expect(told).toContain(unit)
      expect(told).not.toMatch(/\bmg\/L|\d\sL(?![a-z])|°C/)
    }
    await leave()
  })

  it('moves nothing for somebody who asked for less motion', async () => {
    const { page, leave } = await visit(browser, { url: site.url, reducedMotion: 'reduce' })
    await page.locator('.channel-mark').first().waitFor({ state: 'attached' })
    const moves = await page.evaluate("getComputedStyle(document.querySelector('.channel-mark')).transitionDuration")
    expect(moves).toBe('0s')
    await leave()
  })

  it('moves nothing that is about to be touched: bottles stand before the form does, and nobody is told to sign in too early', async () => {
    const { page, leave } = await visit(browser, { url: site.url, token: site.token })
    let isTold = false
    await page.route('**/api/me', async (route) => {
      await new Promise((after) => setTimeout(after, 3000))
      isTold = true
      await route.continue()
    })
    let isBottlesTold = false
    await page.route('**/api/stocks', async (route) => {
      await new Promise((after) => setTimeout(after, 1000))
      isBottlesTold = true
      await route.continue()
    })
    await page.goto(`${site.url}/#/doses`)
    await page.reload()
    const button = page.getByRole('button', { name: 'Log it' })
    await button.waitFor()
    expect(isBottlesTold).toBe(true)
    const before = await page.getByText('Sign in as').count()
    expect([before, isTold]).toEqual([0, false])
    await expect.poll(() => isTold, { timeout: 20_000 }).toBe(true)
    await page.waitForTimeout(500)
    expect(await page.getByText('Sign in as').count()).toBe(0)
    await leave()
    const looker = await visit(browser, { url: site.url })
    await looker.page.goto(`${site.url}/#/doses`)
    await looker.page.getByText('Sign in as a grower (under Records)').waitFor()
    await looker.leave()
  })

  it('follows a link that is touched as soon as it is drawn', async () => {
    const { page, leave } = await visit(browser, { url: 'about:blank', isOwn: true })
    await page.addInitScript(TOUCH_AT_ONCE)
    await page.goto(site.url)
    await page.getByRole('heading', { name: 'Bottles' }).waitFor()
    await leave()
  })

  it('draws every chart with a sentence and a table', async () => {
    const { page, leave } = await visit(browser, { url: site.url })
    const figure = page.getByRole('figure').first()
    await figure
      .getByText(/EC went from .* to .*\smS\/cm/)
      .first()
      .waitFor()
    await figure.getByText('EC as a table').click()
    await expect.poll(() => figure.getByRole('row').count(), { timeout: PATIENCE_MS }).toBeGreaterThan(10)
    await leave()
  })

  it('is light to load, quick to use, to chart and to follow a scan', async () => {
    const { page, leave } = await visit(browser, { url: 'about:blank', isOwn: true })
    const wire = await page.context().newCDPSession(page)
    let bytes = 0
    await wire.send('Network.enable')
    await wire.send('Network.setCacheDisabled', { cacheDisabled: true })
    const ours = new Set<string>()
    wire.on('Network.responseReceived', ({ requestId, response }) => {
      if (!response.url.includes('/api/')) ours.add(requestId)
    })
    wire.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => {
      if (ours.has(requestId)) bytes += encodedDataLength
    })
    await page.addInitScript(WATCH)
    await page.goto(site.url)
    await page.getByRole('heading', { name: 'Trends' }).waitFor()
    await page.locator('canvas').first().waitFor()
    const figures = {
      loadKb: bytes / 1000,
      interactiveMs: Number(await page.evaluate('window.interactiveMs')),
      monthMs: Number(await page.evaluate(MONTH)),
      scanMs: Number(await page.evaluate(SCAN)),
    }
    process.stdout.write(`the page: ${JSON.stringify(figures)}\n`)
    expect.soft(figures.loadKb).toBeLessThanOrEqual(100)
    // The goals are 1000, 300 and 200 ms on a quiet machine; beside the other tests no time means much.
    expect.soft(figures.interactiveMs).toBeLessThanOrEqual(SLACK * 1000)
    expect.soft(figures.monthMs).toBeLessThanOrEqual(SLACK * 300)
    expect.soft(figures.scanMs).toBeLessThanOrEqual(SLACK * 200)
    await leave()
  })

  it('says so when the line is cut, keeps what it shows, and comes back by itself', async () => {
    const line = await lineTo(site.url)
    const { page, leave } = await visit(browser, { url: line.url })
    await page.getByRole('heading', { name: 'Readings' }).waitFor()
    line.cut()
    await page.getByText(/The daemon is not heard/).waitFor({ timeout: PATIENCE_MS })
    expect(await page.getByRole('heading', { name: 'Readings' }).isVisible()).toBe(true)
    await page.getByRole('button', { name: 'Hold all dosing' }).click()
    await page.getByText(/NOT stopped. Pull the plug/).waitFor()
    line.mend()
    await page.getByText(/; connected/).waitFor({ timeout: PATIENCE_MS })
    await leave()
    await line.close()
  })

  it('goes on after the daemon was started again', async () => {
    const { page, leave } = await visit(browser, { url: site.url })
    await page.getByRole('heading', { name: 'Readings' }).waitFor()
    await site.stop()
    await page.getByText(/The daemon is not heard/).waitFor({ timeout: PATIENCE_MS })
    await site.start()
    await page.getByText(/; connected/).waitFor({ timeout: PATIENCE_MS })
    await page.getByText(/not heard/).waitFor({ state: 'detached' })
    await leave()
  })
})
