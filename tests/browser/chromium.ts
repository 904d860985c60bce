/** A real Chromium, as a person has one: found on this machine, never fetched. */

import { existsSync } from 'node:fs'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'

const PLACES = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome', '/snap/bin/chromium']
/** No sandbox since tests may run as root; nothing that would speak to anybody else. */
const ARGUMENTS = [
  ...['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'],
  ...['--disable-background-networking', '--disable-component-update', '--disable-sync'],
]

/** The program; undefined where there is none, which skips the browser tests, except on CI where it fails them. */
export function findChromium(): string | undefined {
  const found = PLACES.find((place) => existsSync(place))
  if (found === undefined && process.env['CI'])
    throw new Error('Chromium is not installed: on CI the browser tests may not be skipped')
  if (found === undefined) process.stderr.write('Chromium is not installed: the tests of the page are skipped\n')
  return found
}

export async function launch(program: string): Promise<Browser> {
  return chromium.launch({ executablePath: program, args: ARGUMENTS })
}

export interface Visit {
  readonly context: BrowserContext
  readonly page: Page
  /** what the browser complained about */
  readonly complaints: string[]
}

interface VisitWish {
  readonly url: string
  readonly token?: string
  readonly width?: number
  readonly colorScheme?: 'light' | 'dark'
  readonly reducedMotion?: 'reduce'
}

/** Somebody opens the page, signed in where a token is given. */
export async function visit(browser: Browser, wish: VisitWish): Promise<Visit> {
  const { url, token, width = 1280, colorScheme = 'light', reducedMotion } = wish
  const context = await browser.newContext({
    viewport: { width, height: 800 },
    ...(reducedMotion ? { reducedMotion } : {}),
    colorScheme,
  })
  context.setDefaultTimeout(45_000)
  if (token !== undefined) {
    const answer = await context.request.post(`${url}/api/session`, { data: { token }, headers: { origin: url } })
    if (!answer.ok()) throw new Error(`signing in: ${await answer.text()}`)
  }
  const page = await context.newPage()
  const complaints: string[] = []
  page.on('pageerror', (error) => complaints.push(error.message))
  page.on('console', (message) => {
    if (message.type() === 'error') complaints.push(message.text())
  })
  await page.goto(url)
  return { context, page, complaints }
}
