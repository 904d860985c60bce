/** Everything a person does at the page, done by keyboard alone, with the focus seen and never lost on the way. */

import { readFileSync } from 'node:fs'
import type { Browser, Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { findChromium, launch, visit } from './chromium.ts'
import { openPopulatedSite, type PopulatedSite } from './populated-site.ts'

const program = findChromium()
const PATIENCE_MS = 60_000
const TASK_MS = 180_000
const TABS_MOST = 150
const KEPT_WITHIN_MS = 10_000
/** What has the focus: its name as it is heard, whether it can be seen that it has it, and whether it is in the page. */
const FOCUSED = `(() => {
  const it = document.activeElement
  const { outlineStyle, outlineWidth } = getComputedStyle(it)
  const label = it.labels?.[0]?.textContent ?? it.getAttribute('aria-label') ?? ''
  const { top, bottom } = it.getBoundingClientRect()
  return {
    name: (label || it.textContent).replace(/\\s+/g, ' ').trim(),
    tag: it.tagName,
    isSeen: outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2 && bottom > 0 && top < innerHeight,
    isSomewhere: it !== document.body,
  }
})()`
interface Focused {
  readonly name: string
  readonly tag: string
  readonly isSeen: boolean
  readonly isSomewhere: boolean
}
let site: PopulatedSite
let browser: Browser
let page: Page

const focused = async () => (await page.evaluate(FOCUSED)) as Focused
const says = (text: string | RegExp) => page.getByText(text).first().waitFor({ timeout: PATIENCE_MS })
const press = (key: string) => page.keyboard.press(key)
const type = (text: string) => page.keyboard.type(text)

/** By the list of views, and by the skip link behind it: from the top of the page. */
async function goTo(view: string): Promise<void> {
  await page.goto(`${site.url}/#/${view}`)
  await page.reload()
  await page.locator('main section').first().waitFor({ timeout: PATIENCE_MS })
  await press('Tab')
  expect((await focused()).name).toBe('To the content')
  await press('Enter')
}

/** Goes on with Tab until what is called so has the focus; every stop on the way can be seen. */
async function tabTo(name: RegExp, key = 'Tab'): Promise<void> {
  const met: string[] = []
  for (let presses = 0; presses < TABS_MOST; presses++) {
    await press(key)
    const now = await focused()
    if (now.isSomewhere) expect(now.isSeen, `the focus on “${now.name.slice(0, 80)}” cannot be seen`).toBe(true)
    if (name.test(now.name)) return
    met.push(now.name.slice(0, 40))
  }
  throw new Error(`no way by ${key} to ${name}; met ${met.join(' | ')}`)
}

/** The same, in one row of a list where each has such a thing. */
async function tabToIn(row: Locator, name: RegExp): Promise<void> {
  await row.waitFor({ timeout: PATIENCE_MS })
  do await tabTo(name)
  while (!(await row.evaluate((one) => one.contains(one.ownerDocument.activeElement))))
}

/** After what was done: the focus is in the page and in its content, not back at the top and not nowhere. */
async function focusIsKept(): Promise<void> {
  for (const endMs = Date.now() + KEPT_WITHIN_MS; Date.now() < endMs; await page.waitForTimeout(50))
    if ((await focused()).isSomewhere) break
  expect(await page.evaluate("document.activeElement.closest('main, header') !== null")).toBe(true)
}

describe.skipIf(program === undefined)('by keyboard alone', () => {
  beforeAll(async () => {
    site = await openPopulatedSite()
    browser = await launch(program!)
    page = (await visit(browser, { url: site.url, token: site.token })).page
    // choosers are handed over only while somebody listens, which on a busy machine begins too late for the key
    page.on('filechooser', () => {})
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await site?.close()
  })

  it(
    'dosing is held and the hold released',
    async () => {
      await goTo('reservoir')
      await tabTo(/^Hold all dosing/, 'Shift+Tab')
      await press('Enter')
      await says('Dosing is on hold')
      expect((await focused()).name).toBe('Dosing is on hold')
      await tabTo(/^Release the hold/)
      await press('Enter')
      await tabTo(/^Reason/)
      await type('looked at it')
      await press('Enter')
      await says('Hold all dosing')
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'a trip is reset, an alarm acknowledged and shelved',
    async () => {
      await goTo('alarms')
      const trips = await page.getByText('Reset', { exact: true }).count()
      await tabTo(/^Reset$/)
      await press('Enter')
      await tabTo(/^Reason/)
      await type('a new node, all pumps looked at')
      await press('Enter')
      await page
        .getByText('Reset', { exact: true })
        .nth(trips - 1)
        .waitFor({ state: 'detached', timeout: PATIENCE_MS })
      await focusIsKept()
      await goTo('alarms')
      const standing = page.getByRole('region', { name: 'Standing alarms' })
      const due = standing.getByRole('listitem').filter({ hasText: 'A laboratory result is due' })
      await tabToIn(due, /^Acknowledge$/)
      await press('Enter')
      await tabTo(/^Reason/)
      await type('the bottle is on its way')
      await press('Enter')
      await due.getByText(/acknowledged, still there/).waitFor({ timeout: PATIENCE_MS })
      await focusIsKept()
      await tabTo(/^Shelve for a time/)
      await press('Space')
      await tabTo(/^Reason/)
      await type('the bottle is on its way')
      await tabTo(/^Shelve for 1 h/)
      await press('Space')
      await says(/▽ shelved/)
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'a laboratory’s file is chosen, read and accepted, and values are typed',
    async () => {
      await goTo('laboratory')
      await tabTo(/^Sample drawn now/)
      await press('Enter')
      await says(/Write this time on the bottle/)
      await focusIsKept()
      await tabTo(/^File of the laboratory/)
      const chooser = page.waitForEvent('filechooser')
      await press('Space')
      const buffer = Buffer.from('Parameter,Result,Unit\nK,199,mg/L\nNO3-N,148,mg/L\nCa,142,mg/L')
      await (await chooser).setFiles({ name: 'keys.csv', mimeType: 'text/csv', buffer })
      await says('keys.csv')
      await tabTo(/^Read it and show its effect/)
      await press('Enter')
      await page.getByRole('row', { name: /^K / }).first().waitFor({ timeout: PATIENCE_MS })
      await focusIsKept()
      await tabTo(/^Accept/)
      await press('Enter')
      await says('✓ accepted')
      await focusIsKept()
      await tabTo(/^Type values instead/, 'Shift+Tab')
      await press('Enter')
      await focusIsKept()
      await tabTo(/^Or type the values/)
      await type('K; 201; mg/L')
      await tabTo(/^Read it and show its effect/)
      await press('Enter')
      await page.getByRole('row', { name: /^K .*201/ }).waitFor({ timeout: PATIENCE_MS })
      await tabTo(/^Leave it/)
      await press('Enter')
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'a limit is found and changed with a reason',
    async () => {
      await goTo('limits')
      await tabTo(/^Find a limit/)
      await type('phosphate single run')
      await tabTo(/largest single run of the pump/)
      await press('Enter')
      await tabTo(/^largest single run of the pump/)
      await press('Control+A')
      await type('12')
      await tabTo(/^Reason/)
      await type('the new bottle is stronger')
      await press('Enter')
      await says(/Changed from \d+ by .*: the new bottle is stronger/)
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'an act by hand is logged',
    async () => {
      await goTo('doses')
      await tabTo(/^What/)
      for (const _step of ['topped up', 'let go']) await press('ArrowDown')
      await tabTo(/^How much/)
      await type('10')
      await press('Enter')
      await says(/Logged/)
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'a probe is calibrated',
    async () => {
      await goTo('setting-up')
      const form = page.getByRole('listitem').filter({ hasText: /^ph-1/ })
      await tabToIn(form, /^Calibrate it/)
      await press('Enter')
      for (const shown of ['7.02', '4.05']) {
        await tabTo(/^The probe shows/)
        await type(shown)
      }
      await press('Enter')
      await form.getByText(/^[✓△] /).waitFor({ timeout: PATIENCE_MS })
      await focusIsKept()
      await tabTo(/^Take this calibration/)
      await press('Enter')
      await says(/slope 1\.0\d+, offset/)
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'a salt is held at the desk and let go again',
    async () => {
      await goTo('desk')
      await says('Weigh for 1000 L')
      await tabTo(/^potassium nitrate, grams/)
      await press('Control+A')
      await type('100')
      await press('Tab')
      await says(/held by hand/)
      expect((await focused()).name).toBe('potassium nitrate, moved')
      await press('ArrowRight')
      await tabTo(/^Let it be solved again/)
      await press('Enter')
      await page.getByText(/held by hand/).waitFor({ state: 'detached', timeout: PATIENCE_MS })
      await focusIsKept()
    },
    TASK_MS,
  )

  it(
    'the report is fetched and the batch cards are printed',
    async () => {
      await goTo('records')
      await tabTo(/^Fetch the report/)
      const coming = page.waitForEvent('download', { timeout: PATIENCE_MS })
      await press('Enter')
      expect(readFileSync((await (await coming).path())!, 'utf8')).toMatch(/^<!doctype html>/i)
      await page.evaluate('window.print = () => { window.isPrinted = true }')
      await page.evaluate("location.hash = '#/desk'")
      await tabTo(/Stock tanks and batch cards/)
      await press('Enter')
      await tabTo(/^Plan the tanks/)
      await press('Enter')
      await says(/Check: 10\smL made up to 1\sL/)
      await focusIsKept()
      await tabTo(/^Print the cards/)
      await press('Enter')
      expect(await page.evaluate('window.isPrinted')).toBe(true)
    },
    TASK_MS,
  )

  it(
    'nothing holds the focus: Tab goes through a view and comes round to its top',
    async () => {
      await goTo('setting-up')
      await tabTo(/^To the content/)
      await tabTo(/^Hold all dosing/)
    },
    TASK_MS,
  )
})
