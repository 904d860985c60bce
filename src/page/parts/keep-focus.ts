/** What a lost focus falls back to: the thing that was acted on, else what it was part of. */
const PLACES = 'li, section, [role="alert"], [role="status"], main'

/**
 * A form that has done its work goes, and its button with it. Without this the focus would be nowhere, and whoever
 * works by keyboard or hears the page would begin at its top again; so it goes to the nearest thing that is still there.
 */
export function keepFocus(root: HTMLElement): void {
  let last: Element | null = null
  let around: readonly HTMLElement[] = []
  root.addEventListener('focusin', (event) => {
    const target = event.target as Element
    last = target
    around = ancestorsOf(target)
  })
  root.addEventListener('focusout', ({ target }) => {
    // whoever leaves it of their own accord wants nothing back; what was taken away is no longer in the page
    queueMicrotask(() => {
      if (last !== null && target === last && last.isConnected && document.activeElement === document.body) last = null
    })
  })
  new MutationObserver(() => {
    if (last === null || last.isConnected || document.activeElement !== document.body) return
    last = null
    const place = around.find((one) => one.isConnected)
    if (place === undefined) return
    // it can take the focus from here, and is no stop of the Tab key
    if (!place.hasAttribute('tabindex')) place.tabIndex = -1
    place.focus()
  }).observe(root, { childList: true, subtree: true })
}

/** Innermost first. */
function ancestorsOf(element: Element): readonly HTMLElement[] {
  const above = element.parentElement?.closest<HTMLElement>(PLACES) ?? null
  return above === null ? [] : [above, ...ancestorsOf(above)]
}
