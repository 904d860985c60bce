import type { ComponentChildren, JSX } from 'preact'

/** What went wrong, as lines; announced at once. Nothing is drawn while there is nothing to say. */
export function Failure({ lines }: { readonly lines: readonly string[] }): JSX.Element | null {
  if (lines.length === 0) return null
  return (
    <div class="notice is-abnormal" role="alert">
      {lines.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </div>
  )
}

/** What was done, told once and politely. */
export function Done({ children }: { readonly children: ComponentChildren }): JSX.Element {
  return (
    <div class="notice" role="status">
      {children}
    </div>
  )
}

/** A caution of the trade: what can hurt, and whom to ask. */
export function Caution({ children }: { readonly children: ComponentChildren }): JSX.Element {
  return (
    <div class="caution" role="note" aria-label="Caution">
      {children}
    </div>
  )
}
