import type { ComponentChildren, JSX } from 'preact'
import { useId } from 'preact/hooks'

interface FieldProps {
  readonly label: string
  /** what to type, shown under the field */
  readonly hint?: string
  readonly unit?: string
  readonly children: (id: string, hintId: string | undefined) => ComponentChildren
}

/** A label, its field, its unit and a hint, joined for those who do not see them together. */
export function Field({ label, hint, unit, children }: FieldProps): JSX.Element {
  const id = useId()
  const hintId = hint === undefined ? undefined : `${id}-hint`
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <div class="field-line">
        {children(id, hintId)}
        {unit === undefined ? null : <span class="quiet">{unit}</span>}
      </div>
      {hint === undefined ? null : (
        <p class="quiet" id={hintId}>
          {hint}
        </p>
      )}
    </div>
  )
}

interface InputProps {
  readonly label: string
  readonly value: string
  readonly onValue: (value: string) => void
  readonly type?: 'text' | 'number' | 'datetime-local' | 'date' | 'password'
  readonly hint?: string
  readonly unit?: string
  readonly isRequired?: boolean
  readonly min?: number
  readonly max?: number
}

/** A field of one line. Numbers take any fraction; what is allowed is the daemon’s to say. */
export function Input(props: InputProps): JSX.Element {
  const { label, value, onValue, type = 'text', hint, unit, isRequired = true, min, max } = props
  return (
    <Field label={label} {...(hint === undefined ? {} : { hint })} {...(unit === undefined ? {} : { unit })}>
      {(id, hintId) => (
        <input
          id={id}
          type={type}
          value={value}
          required={isRequired}
          min={min}
          max={max}
          step={type === 'number' ? 'any' : undefined}
          inputmode={type === 'number' ? 'decimal' : undefined}
          aria-describedby={hintId}
          autocomplete="off"
          onInput={(event) => onValue(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

interface ChoiceProps {
  readonly label: string
  readonly value: string
  readonly onValue: (value: string) => void
  readonly options: readonly { readonly value: string; readonly text: string }[]
  readonly hint?: string
}

export function Choice({ label, value, onValue, options, hint }: ChoiceProps): JSX.Element {
  return (
    <Field label={label} {...(hint === undefined ? {} : { hint })}>
      {(id, hintId) => (
        <select
          id={id}
          value={value}
          aria-describedby={hintId}
          onChange={(event) => onValue(event.currentTarget.value)}
        >
          {options.map((option) => (
            <option key={option.value} value={option.value}>
              {option.text}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}
