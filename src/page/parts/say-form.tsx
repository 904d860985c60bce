import type { ComponentChildren, JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../shell/api/schema/common.ts'
import type { InstructionBody } from '../../shell/api/schema/instruction.ts'
import { useTelling } from '../data/telling.ts'
import { Button } from './button.tsx'
import { Input } from './field.tsx'
import { Done, Failure } from './notice.tsx'

interface SayFormProps {
  /** a function where it depends on the moment it is said */
  readonly instruction: InstructionBody | (() => InstructionBody)
  /** on the button: what it does */
  readonly label: string
  /** proposed reason; a person may write a better one */
  readonly reason?: string
  readonly onDone?: (() => void) | undefined
  readonly children?: ComponentChildren
}

/** One word of a person to the loop, with the reason that is kept beside it. */
export function SayForm({ instruction, label, reason = '', onDone, children }: SayFormProps): JSX.Element {
  const [why, setWhy] = useState(reason)
  const telling = useTelling<Taken>()
  const submit = async (event: Event) => {
    event.preventDefault()
    const answer = await telling.run('/api/instruction', {
      reason: why,
      instruction: typeof instruction === 'function' ? instruction() : instruction,
    })
    if (answer !== null) onDone?.()
  }
  return (
    <form onSubmit={submit}>
      {children}
      <div class="fields">
        <Input label="Reason" value={why} onValue={setWhy} hint="Kept in the records beside your name" />
      </div>
      <Button type="submit" isOff={telling.isBusy}>
        {label}
      </Button>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : <Done>{telling.answer.text ?? 'Done, and kept.'}</Done>}
    </form>
  )
}

/** A form that is opened by what it does, so that a list of things stays a list. */
export function Unfold({
  label,
  children,
}: {
  readonly label: string
  readonly children: ComponentChildren
}): JSX.Element {
  return (
    <details>
      <summary>{label}</summary>
      <div class="sheet">{children}</div>
    </details>
  )
}
