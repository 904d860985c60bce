/** Finding one’s way on the page by what can be read there. */

import type { Locator, Page } from 'playwright-core'
import { expect } from 'vitest'

/** A page shows at once what it was told; the daemon thinks within this. */
export const SOON = { timeout: 45_000, interval: 100 }

/** As it stands on the screen, with plain spaces. */
export async function text(place: Locator): Promise<string> {
  await place.first().waitFor({ state: 'attached' })
  return (await place.first().allInnerTexts()).join('').replace(/\u00a0/g, ' ')
}

export function region(page: Page, name: string): Locator {
  return page.getByRole('region', { name })
}

export async function go(page: Page, view: string | RegExp): Promise<void> {
  await page.getByRole('navigation').getByRole('link', { name: view }).click()
}

/** What is folded has its heading for a handle. */
export async function unfold(place: Locator, heading: string): Promise<void> {
  await place.getByText(heading).first().click()
}

export function figure(said: string, pattern: RegExp): number {
  return Number(pattern.exec(said)?.[1])
}

export async function reading(page: Page, name: string, pattern: RegExp): Promise<number> {
  const readings = region(page, 'Readings')
  const behindName = new RegExp(`${name}[^]*?${pattern.source}`)
  await expect.poll(() => text(readings), SOON).toMatch(behindName)
  return figure(await text(readings), behindName)
}

export function potassium(page: Page): Locator {
  return region(page, 'Elements').getByRole('listitem').filter({ hasText: 'potassium' })
}

export async function believedPotassium(page: Page): Promise<{ value: number; doubt: number }> {
  await expect.poll(() => text(potassium(page)), SOON).toMatch(/\d+ ± \d+ mg\/L/)
  const said = await text(potassium(page))
  return { value: figure(said, /(\d+) ± \d+ mg/), doubt: figure(said, /± (\d+) mg/) }
}

/** How much phosphate one shot may be: found by its words. */
export async function openCap(page: Page): Promise<Locator> {
  await go(page, 'Limits')
  await page.getByLabel('Find a limit').fill('phosphate largest')
  const cap = region(page, 'stock phosphate').getByRole('listitem').filter({ hasText: 'largest single run' }).first()
  await unfold(cap, 'largest single run')
  return cap
}
