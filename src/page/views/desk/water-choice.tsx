import type { JSX } from 'preact'
import { textOfReport } from '../../../shell/api/schema/report-bytes.ts'
import { Choice, Field } from '../../parts/field.tsx'
import type { DeskProps } from '../desk-view.tsx'

/** A water by name, or the file of a report about it. */
export type WaterGiven = string | { readonly fileName: string; readonly text: string }

interface WaterChoiceProps extends DeskProps {
  readonly value: WaterGiven
  readonly onValue: (value: WaterGiven) => void
}

/** The water to start from: one of the known ones, or a laboratory’s file. */
export function WaterChoice({ choices, value, onValue }: WaterChoiceProps): JSX.Element {
  const choose = async (file: File | undefined) => {
    if (file !== undefined) onValue({ fileName: file.name, text: textOfReport(await file.arrayBuffer()) })
  }
  return (
    <>
      <Choice
        label="Water"
        value={typeof value === 'string' ? value : 'file'}
        onValue={(chosen) => chosen !== 'file' && onValue(chosen)}
        options={[
          ...choices.waters.map(({ id, name }) => ({ value: id, text: name })),
          ...(typeof value === 'string' ? [] : [{ value: 'file', text: value.fileName }]),
        ]}
      />
      <Field label="Or a laboratory’s file of it">
        {(id) => (
          <input
            id={id}
            type="file"
            accept=".csv,.json,.txt"
            onChange={(event) => choose(event.currentTarget.files?.[0])}
          />
        )}
      </Field>
    </>
  )
}
