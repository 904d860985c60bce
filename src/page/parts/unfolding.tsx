import type { ComponentChildren, JSX } from 'preact'
import { useState } from 'preact/hooks'

interface UnfoldingProps {
  readonly summary: ComponentChildren
  readonly tell: () => ComponentChildren
}

/** What few will ask for is made once somebody unfolds it: folded, it would still cost every drawing of the view. */
export function Unfolding({ summary, tell }: UnfoldingProps): JSX.Element {
  const [isOpen, setIsOpen] = useState(false)
  return (
    <details onToggle={({ currentTarget }) => setIsOpen(currentTarget.open)}>
      <summary>{summary}</summary>
      {isOpen ? tell() : null}
    </details>
  )
}
