import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { LaboratoryAnswer, LaboratoryPreview, LaboratoryUploadBody } from '../../../shell/api/schema/laboratory.ts'
import { textOfReport } from '../../../shell/api/schema/report-bytes.ts'
import { fieldMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Field, Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'
import { ReportEffect } from './report-effect.tsx'

interface ReportFormProps {
  /** when the last bottle was stamped as drawn */
  readonly drawnAtMs: number | undefined
  readonly onDone: () => void
}

const TYPED_HINT = 'One line for each: analyte, value, unit. For example: NO3-N; 145; mg/L'

/** A file or typed values: read, judged and shown with their effect before anything is taken. */
export function ReportForm({ drawnAtMs, onDone }: ReportFormProps): JSX.Element {
  const [fileName, setFileName] = useState('')
  const [text, setText] = useState('')
  const [drawn, setDrawn] = useState('')
  const [sample, setSample] = useState('')
  const preview = useTelling<LaboratoryPreview>()
  const upload = useTelling<LaboratoryAnswer>()
  const drawnText = drawn !== '' ? drawn : drawnAtMs === undefined ? '' : fieldMoment(drawnAtMs)
  const body = (): Omit<LaboratoryUploadBody, 'accept'> => ({
    fileName: fileName === '' ? 'typed.csv' : fileName,
    text: fileName === '' ? `analyte;value;unit\n${text}` : text,
    sampledAt: new Date(drawnText).toISOString(),
    ...(sample === '' ? {} : { sample }),
  })
  const read = async (event: Event) => {
    event.preventDefault()
    upload.clear()
    await preview.run('/api/laboratory/preview', body())
  }
  const take = async (accept: boolean) => {
    if ((await upload.run('/api/laboratory', { ...body(), accept })) === null) return
    preview.clear()
    onDone()
  }
  /** What was in a file is no beginning for what is typed. */
  const forget = () => {
    setFileName('')
    setText('')
    preview.clear()
  }
  const choose = async (file: File | undefined) => {
    if (file === undefined) return
    setFileName(file.name)
    setText(textOfReport(await file.arrayBuffer()))
    preview.clear()
  }
  return (
    <section aria-labelledby="report-title">
      <h2 id="report-title">Give a laboratory report</h2>
      <form onSubmit={read}>
        <FileField onFile={choose} />
        {fileName === '' ? (
          <TypedField value={text} onValue={setText} />
        ) : (
          <p>
            {fileName}{' '}
            <button type="button" class="is-plain" onClick={forget}>
              Type values instead
            </button>
          </p>
        )}
        <div class="fields">
          <Input
            label="Bottle filled at"
            type="datetime-local"
            value={drawnText}
            onValue={setDrawn}
            hint="When it was filled, not when the report was written"
          />
          {(preview.answer?.samples.length ?? 0) > 1 ? (
            <Choice
              label="Which bottle"
              value={sample}
              onValue={setSample}
              options={[
                { value: '', text: 'choose' },
                ...(preview.answer?.samples ?? []).map((name) => ({ value: name, text: name })),
              ]}
            />
          ) : null}
        </div>
        <Button type="submit" class="is-main" isOff={preview.isBusy || text === ''}>
          Read it and show its effect
        </Button>
      </form>
      <Failure lines={[...preview.failure, ...upload.failure]} />
      {preview.answer === null ? null : (
        <ReportEffect preview={preview.answer} isBusy={upload.isBusy} onTake={take} onDrop={preview.clear} />
      )}
      {upload.answer === null ? null : <Answer answer={upload.answer} />}
    </section>
  )
}

function FileField({ onFile }: { readonly onFile: (file: File | undefined) => void }): JSX.Element {
  return (
    <Field label="File of the laboratory" hint="CSV, JSON or text; or drop it here">
      {(id, hintId) => (
        <input
          id={id}
          type="file"
          accept=".csv,.json,.txt,text/csv,application/json"
          aria-describedby={hintId}
          onChange={(event) => onFile(event.currentTarget.files?.[0])}
        />
      )}
    </Field>
  )
}

function TypedField(props: { readonly value: string; readonly onValue: (value: string) => void }): JSX.Element {
  return (
    <Field label="Or type the values" hint={TYPED_HINT}>
      {(id, hintId) => (
        <textarea
          id={id}
          rows={5}
          value={props.value}
          aria-describedby={hintId}
          onInput={(event) => props.onValue(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

function Answer({ answer }: { readonly answer: LaboratoryAnswer }): JSX.Element {
  if (answer.kind === 'accepted' && answer.known)
    return <Done>Known already: this very file was taken before, and nothing was changed.</Done>
  if (answer.kind === 'accepted') return <Done>{answer.text}</Done>
  return (
    <div class="notice is-abnormal" role="status">
      <p>△ Held for a person to decide; nothing was changed yet.</p>
      {answer.why.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </div>
  )
}
