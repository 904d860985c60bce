import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { findChromium, launch, type Visit, visit } from './chromium.ts'
import { openPopulatedSite, type PopulatedSite } from './populated-site.ts'

const program = findChromium()
const HOUR_MS = 3_600_000
const PATIENCE_MS = 60_000
let site: PopulatedSite
let browser: Browser

const REPORT = [
  'Parameter,Result,Unit',
  'NO3-N,150,mg/L',
  'P,38,mg/L',
  'K,205,mg/L',
  'Ca,140,mg/L',
  'Mg,37,mg/L',
  'SO4-S,58,mg/L',
  'EC,1.9,mS/cm',
  'pH,5.9,',
].join('\n')

/** For a field of date and time, in this browser’s zone, which is the machine’s. */
function fieldTime(atMs: number): string {
  const at = new Date(atMs)
  return new Date(atMs - at.getTimezoneOffset() * 60_000).toISOString().slice(0, 16)
}

async function asTechnician<Result>(task: (page: Page, visit: Visit) => Promise<Result>): Promise<Result> {
  return as(site.token, task)
}

async function as<Result>(
  token: string | undefined,
  task: (page: Page, visit: Visit) => Promise<Result>,
): Promise<Result> {
  const visited = await visit(browser, { url: site.url, ...(token === undefined ? {} : { token }) })
  try {
    const result = await task(visited.page, visited)
    expect(visited.complaints.filter((text) => !/status of 4\d\d/.test(text))).toEqual([])
    return result
  } finally {
    await visited.leave()
  }
}

/** As a person finds a view: by its name in the list of views. */
async function goTo(page: Page, name: string | RegExp): Promise<void> {
  await page.getByRole('navigation', { name: 'Views' }).getByRole('link', { name }).click()
}

const says = (page: Page, text: string | RegExp) => page.getByText(text).first().waitFor({ timeout: PATIENCE_MS })

describe.skipIf(program === undefined)('somebody at the page', () => {
  beforeAll(async () => {
    site = await openPopulatedSite()
    browser = await launch(program!)
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await site?.close()
  })

  it('wants to know if all is well, and is told first what is not and where to go', async () => {
    await as(undefined, async (page) => {
      await says(page, /An interlock has tripped/)
      const wrong = page.getByRole('region', { name: 'Not as it should be' })
      await wrong.getByRole('link', { name: 'To the alarms' }).first().click()
      await page.getByRole('heading', { name: 'Standing alarms' }).waitFor()
    })
  })

  it('asks why nothing is dosed, and finds what each bottle waits for', async () => {
    await as(undefined, async (page) => {
      await goTo(page, 'Doses and acts')
      await page
        .getByRole('row', { name: /phosphate/ })
        .getByText(/waits: .*tripped/)
        .waitFor()
    })
  })

  it('resets a trip with a reason, once the node that was changed is looked at', async () => {
    await asTechnician(async (page) => {
      await page.getByText('tripped, nothing is dosed').waitFor({ timeout: PATIENCE_MS })
      await goTo(page, /Alarms/)
      await page.getByText('Reset', { exact: true }).first().click()
      const form = page.getByRole('region', { name: /Tripped/ })
      await form.getByLabel('Reason').first().fill('a new node was fitted, all pumps looked at')
      await form.getByRole('button', { name: /reset/ }).first().click()
      await says(page, 'a laboratory result is due')
      await page.getByRole('heading', { name: /Tripped/ }).waitFor({ state: 'detached', timeout: PATIENCE_MS })
      await page.getByText('tripped, nothing is dosed').waitFor({ state: 'detached', timeout: PATIENCE_MS })
    })
  })

  it('stops dosing at once without signing in, and a grower releases it', async () => {
    await as(undefined, async (page) => {
      await page.getByRole('button', { name: 'Hold all dosing' }).click()
      await page.getByRole('button', { name: 'Dosing is on hold' }).waitFor()
    })
    await asTechnician(async (page) => {
      await page.getByText('Release the hold').click()
      await page.getByLabel('Reason').fill('looked at it, all is well')
      await page.getByRole('button', { name: /Release/ }).click()
      await page.getByRole('button', { name: 'Hold all dosing' }).waitFor()
    })
  })

  it('acknowledges an alarm, shelves it for an hour and takes it off the shelf', async () => {
    await asTechnician(async (page) => {
      await goTo(page, /Alarms/)
      const standing = page.getByRole('region', { name: 'Standing alarms' })
      const due = standing.getByRole('listitem').filter({ hasText: 'A laboratory result is due' })
      await due.getByText('Acknowledge', { exact: true }).click()
      await due.getByLabel('Reason').first().fill('the bottle is on its way')
      await due.getByRole('button', { name: 'I see to it' }).click()
      await due.getByText(/acknowledged, still there/).waitFor()
      await due.getByText('Shelve for a time').click()
      await due.getByLabel('Reason').first().fill('the bottle is on its way')
      await due.getByRole('button', { name: 'Shelve for 1 h' }).click()
      await due.getByText(/▽ shelved/).waitFor()
      await due.getByText('Take off the shelf').click()
      await due.getByLabel('Reason').first().fill('back to work')
      await due.getByRole('button', { name: 'Take it off the shelf' }).click()
      await due.getByText(/▽ shelved/).waitFor({ state: 'detached' })
    })
  })

  it('draws a sample, is told whether now is a good moment, and the time is kept for the report', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Laboratory')
      await says(page, /good moment|Better wait/)
      await page.getByRole('button', { name: 'Sample drawn now' }).click()
      await says(page, /Write this time on the bottle/)
    })
  })

  it('gives a laboratory report, sees its effect on each element, and accepts it', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Laboratory')
      const file = { name: 'march.csv', mimeType: 'text/csv', buffer: Buffer.from(REPORT) }
      await page.getByLabel('File of the laboratory').setInputFiles(file)
      await page.getByLabel('Bottle filled at').fill(fieldTime(Date.now() - 26 * HOUR_MS))
      await page.getByRole('button', { name: 'Read it and show its effect' }).click()
      const potassium = page.getByRole('row', { name: /^K / })
      await potassium.getByText('205').first().waitFor({ timeout: PATIENCE_MS })
      await page.getByRole('button', { name: /^Accept/ }).click()
      await says(page, '✓ accepted')
      await goTo(page, 'Reservoir')
      await says(page, /◇ laboratory 205/)
    })
  })

  it('logs ten litres that were drained, and finds it in what was done', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Doses and acts')
      await page.getByLabel('What', { exact: true }).selectOption({ label: 'let solution go' })
      await page.getByLabel('How much').fill('10')
      await page.getByRole('button', { name: 'Log it' }).click()
      await says(page, /Logged/)
      await page.getByText(/What people did and said/).click()
      await says(page, '10 L let go')
    })
  })

  it('changes a limit inside its ceiling, and who did it and why stands beside it', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Limits')
      const limit = page.getByRole('listitem').filter({ hasText: 'stocks.phosphate.shotMaxMl' })
      await limit.getByText(/largest single run of the pump/).click()
      await limit.getByRole('spinbutton').fill('12')
      await limit.getByLabel('Reason').fill('the new bottle is stronger')
      await limit.getByRole('button', { name: /Put 12 mL in force/ }).click()
      await says(page, /the new bottle is stronger/)
    })
  })

  it('calibrates a pump: types what came twice, sees the scatter, takes the rate', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Setting up')
      const pump = page.getByRole('listitem').filter({ hasText: /^phosphate/ })
      await pump.getByText('Calibrate it').click()
      await pump
        .getByRole('note', { name: 'Caution' })
        .getByText(/plain water/)
        .waitFor()
      for (const volume of ['9.8', '9.9']) {
        await pump.getByLabel('Volume that came').fill(volume)
        await pump.getByRole('button', { name: 'Add this run' }).click()
      }
      await pump.getByRole('button', { name: /Take 29\.\d+ mL\/min/ }).click()
      await says(page, /measured .* by/)
    })
  })

  it('calibrates a pH probe at two buffers and is told whether it is still good', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Setting up')
      const probe = page.getByRole('listitem').filter({ hasText: /^ph-1/ })
      await probe.getByText('Calibrate it').click()
      const shown = probe.getByLabel(/The probe shows/)
      await shown.nth(0).fill('7.02')
      await shown.nth(1).fill('4.05')
      await probe.getByRole('button', { name: 'Judge it' }).click()
      await probe.getByRole('button', { name: 'Take this calibration' }).click()
      await says(page, /slope 1\.0\d+, offset/)
    })
  })

  it('makes a recipe, holds one salt by hand, and the others are solved again', async () => {
    await as(undefined, async (page) => {
      await goTo(page, 'Desk')
      await page.getByText('Weigh for 1000 L').waitFor({ timeout: PATIENCE_MS })
      const nitrate = page.getByLabel('potassium nitrate, grams for 1000 L')
      await nitrate.fill('100')
      await nitrate.press('Tab')
      await says(page, /held by hand/)
      await says(page, 'Let it be solved again')
    })
  })

  it('keeps what is being typed when an answer arrives in between', async () => {
    await as(undefined, async (page) => {
      await goTo(page, 'Desk')
      await page.getByText('Weigh for 1000 L').waitFor({ timeout: PATIENCE_MS })
      let letPass = () => {}
      const isLate = new Promise<void>((resolve) => {
        letPass = resolve
      })
      await page.route(
        '**/api/desk/recipe',
        async (route) => {
          const answer = await route.fetch()
          await isLate
          await route.fulfill({ response: answer })
        },
        { times: 1 },
      )
      const asked = page.waitForRequest('**/api/desk/recipe')
      const outcome = page.getByText(/EC [\d.]+\smS\/cm, pH/)
      const before = await outcome.textContent()
      await page.getByLabel('Stage').first().selectOption('young')
      await asked
      const nitrate = page.getByLabel('potassium nitrate, grams for 1000 L')
      await nitrate.fill('100')
      const answered = page.waitForResponse('**/api/desk/recipe')
      letPass()
      await answered
      await expect.poll(() => outcome.textContent(), { timeout: PATIENCE_MS }).not.toBe(before)
      expect(await nitrate.inputValue()).toBe('100')
      await nitrate.press('Tab')
      await says(page, /held by hand/)
    })
  })

  it('prints a batch card with cautions and the EC of a 1:100 dilution', async () => {
    await as(undefined, async (page) => {
      await goTo(page, 'Desk')
      await page.getByRole('button', { name: /Stock tanks/ }).click()
      await page.getByRole('button', { name: 'Plan the tanks' }).click()
      await page
        .getByText(/Check: 10\smL made up to 1\sL/)
        .first()
        .waitFor({ timeout: PATIENCE_MS })
      await page.emulateMedia({ media: 'print' })
      expect(await page.getByRole('navigation', { name: 'Views' }).isVisible()).toBe(false)
      expect(
        await page
          .getByText(/Check: 10\smL made up to 1\sL/)
          .first()
          .isVisible(),
      ).toBe(true)
    })
  })

  it('signs in with the first token, makes one for a grower, and revokes it', async () => {
    const secret = await as(undefined, async (page) => {
      await goTo(page, 'Records')
      await page.getByLabel('Token').fill(site.token)
      await page.getByRole('button', { name: 'Sign in' }).click()
      await page.getByLabel('Whose').fill('Mira')
      await page.getByRole('button', { name: 'Make a token' }).click()
      return (await page.getByRole('status').getByRole('code').first().textContent()) ?? ''
    })
    await as(secret, async (page) => {
      await goTo(page, 'Records')
      await says(page, /Mira: may log acts/)
    })
    await asTechnician(async (page) => {
      await goTo(page, 'Records')
      await page.getByRole('button', { name: 'Revoke Mira' }).click()
      await says(page, /✕ revoked/)
    })
    await expect(as(secret, async () => {})).rejects.toThrow(/signing in/)
  })

  it('is told in words when a token has expired, and nothing was done', async () => {
    const made = (await site.tell('/api/tokens', { name: 'Short', role: 'grower', expiresInDays: 3 / 86_400 })) as {
      secret: string
    }
    await as(made.secret, async (page) => {
      await goTo(page, 'Laboratory')
      await page.getByRole('button', { name: 'Sample drawn now' }).waitFor()
      await page.waitForTimeout(3500)
      await page.getByRole('button', { name: 'Sample drawn now' }).click()
      expect(await page.getByRole('alert').first().textContent()).toMatch(/sign in|token/i)
    })
  })

  it('is refused a laboratory file of five thousand rows in words, not by a page that hangs', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Laboratory')
      const rows = Array.from({ length: 5000 }, (_, row) => `K,${100 + (row % 100)},mg/L`)
      const buffer = Buffer.from(['Parameter,Result,Unit', ...rows].join('\n'))
      await page.getByLabel('File of the laboratory').setInputFiles({ name: 'all.csv', mimeType: 'text/csv', buffer })
      await page.getByLabel('Bottle filled at').fill(fieldTime(Date.now() - 27 * HOUR_MS))
      await page.getByRole('button', { name: 'Read it and show its effect' }).click()
      await page.getByRole('alert').first().waitFor({ timeout: PATIENCE_MS })
      expect((await page.getByRole('alert').first().textContent())?.length).toBeLessThan(4000)
    })
  })

  it('gives a file whose name is a script, and it is only a name', async () => {
    await asTechnician(async (page) => {
      await goTo(page, 'Laboratory')
      const name = '<img src=x onerror="document.title=1">.csv'
      const buffer = Buffer.from(REPORT.replace('K,205', 'K,203'))
      await page.getByLabel('File of the laboratory').setInputFiles({ name, mimeType: 'text/csv', buffer })
      await says(page, name)
      await page.getByLabel('Bottle filled at').fill(fieldTime(Date.now() - 28 * HOUR_MS))
      await page.getByRole('button', { name: 'Read it and show its effect' }).click()
      await page.getByRole('row', { name: /^K / }).first().waitFor({ timeout: PATIENCE_MS })
      expect(await page.locator('main img').count()).toBe(0)
      expect(await page.title()).not.toBe('1')
    })
  })
})
