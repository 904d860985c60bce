import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { reasonsOf } from '../data/problem.ts'
import { tell } from '../data/request.ts'
import { Button } from './button.tsx'
import { Failure } from './notice.tsx'

/** Stops all dosing at once. No question, no login: whoever sees that something is wrong must be able to stop it. */
export function HoldButton({ isHeld, onDone }: { readonly isHeld: boolean; readonly onDone: () => void }): JSX.Element {
  const [isBusy, setBusy] = useState(false)
  const [failure, setFailure] = useState<readonly string[]>([])
  const hold = async () => {
    setBusy(true)
    try {
      await tell('/api/hold', { reason: 'stopped at the page' })
      setFailure([])
      onDone()
    } catch (problem) {
      setFailure(['NOT stopped. Pull the plug of the pumps if it matters.', ...reasonsOf(problem)])
    } finally {
      setBusy(false)
    }
  }
  return (
    <div class="hold">
      <Button class="hold-button" isOff={isBusy || isHeld} onClick={hold}>
        {isHeld ? 'Dosing is on hold' : isBusy ? 'Stopping…' : 'Hold all dosing'}
      </Button>
      <Failure lines={failure} />
    </div>
  )
}
