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
  readonly page: Page
  /** what the browser complained about */
  readonly complaints: readonly string[]
  /** Done here: the next visit may take the same seat. */
  leave(): Promise<void>
}

interface VisitWish {
  readonly url: string
  readonly token?: string
  readonly width?: number
  readonly colorScheme?: 'light' | 'dark'
  readonly reducedMotion?: 'reduce'
  /** nobody sat here before and nobody will: what a first load costs, or a page that is changed for good */
  readonly isOwn?: boolean
}

/** A window of a person’s own: cookies, storage and cache of nobody else. */
interface Seat {
  readonly context: BrowserContext
  readonly page: Page
  complaints: string[]
}

/** Seats that were left, by their browser: a new one starts processes of its own, which costs more than the page. */
const empty = new WeakMap<Browser, Seat[]>()

/** Somebody opens the page, signed in where a token is given; nothing is left of who came before. */
export async function visit(browser: Browser, wish: VisitWish): Promise<Visit> {
  const { url, token, width = 1280, colorScheme = 'light', reducedMotion, isOwn = false } = wish
  const seat = (isOwn ? undefined : empty.get(browser)?.pop()) ?? (await newSeat(browser))
  const { context, page } = seat
  seat.complaints = []
  await page.setViewportSize({ width, height: 800 })
  await page.emulateMedia({ colorScheme, reducedMotion: reducedMotion ?? null, media: null })
  if (token !== undefined) {
    const answer = await context.request.post(`${url}/api/session`, { data: { token }, headers: { origin: url } })
    if (!answer.ok()) throw new Error(`signing in: ${await answer.text()}`)
  }
  await page.goto(url)
  return {
    page,
    complaints: seat.complaints,
    leave: () => (isOwn ? context.close() : cleared(browser, seat)),
  }
}

async function newSeat(browser: Browser): Promise<Seat> {
  const context = await browser.newContext()
  context.setDefaultTimeout(45_000)
  const seat: Seat = { context, page: await context.newPage(), complaints: [] }
  seat.page.on('pageerror', (error) => seat.complaints.push(error.message))
  seat.page.on('console', (message) => {
    if (message.type() === 'error') seat.complaints.push(message.text())
  })
  return seat
}

async function cleared(browser: Browser, seat: Seat): Promise<void> {
  const { context, page } = seat
  await page.unrouteAll({ behavior: 'ignoreErrors' })
  await page.evaluate('localStorage.clear(); sessionStorage.clear()')
  await page.goto('about:blank')
  await context.clearCookies()
  empty.set(browser, [...(empty.get(browser) ?? []), seat])
}
