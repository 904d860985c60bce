import type { ComponentChildren, JSX } from 'preact'

interface ButtonProps {
  /** cannot be pressed just now; it keeps the focus all the same, which a disabled one loses to nowhere */
  readonly isOff: boolean
  readonly type?: 'button' | 'submit'
  readonly class?: string
  readonly onClick?: () => void
  readonly children: ComponentChildren
}

/** A button that may be off for a while. Enter in a field presses the button of its form, so that is stopped here too. */
export function Button({ isOff, type = 'button', class: look = '', onClick, children }: ButtonProps): JSX.Element {
  const press = (event: Event) => {
    if (isOff) event.preventDefault()
    else onClick?.()
  }
  return (
    <button type={type} class={look} aria-disabled={isOff} onClick={press}>
      {children}
    </button>
  )
}
