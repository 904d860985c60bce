/** Told above forms that would refuse whoever looks on. */

import type { JSX } from 'preact'
import { useMe } from '../data/session.ts'

interface SignInFirstProps {
  readonly as: 'grower' | 'technician'
  /** what the sign-in is for, and what goes without, behind ‘to’ */
  readonly to: string
}

export function SignInFirst({ as, to }: SignInFirstProps): JSX.Element | null {
  const { isKnown, may } = useMe()
  // a line that comes and goes would move what a finger is about to touch
  if (!isKnown || may(as)) return null
  return (
    <p>
      Sign in as a {as} (under Records) to {to}.
    </p>
  )
}
