import type { JSX } from 'preact'
import type { LaboratoryPreview } from '../../../shell/api/schema/laboratory.ts'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber } from '../../data/quantity.ts'
import { Button } from '../../parts/button.tsx'
import { NOTHING, Table } from '../../parts/table.tsx'

interface ReportEffectProps {
  readonly preview: LaboratoryPreview
  readonly isBusy: boolean
  readonly onTake: (accept: boolean) => void
  readonly onDrop: () => void
}

/** What was read, what is doubtful about it, and what it would do to each element. Nothing is taken before a button is. */
export function ReportEffect({ preview, isBusy, onTake, onDrop }: ReportEffectProps): JSX.Element {
  const isSuspect = preview.verdict === 'suspect'
  return (
    <div class="sheet">
      <p>{preview.text}</p>
      {preview.isKnown ? <p>This very file was taken before; taking it again changes nothing.</p> : null}
      {preview.doubts.map((doubt) => (
        <p key={doubt} class="is-abnormal">
          △ {doubt}
        </p>
      ))}
      <EffectTable preview={preview} />
      {preview.noted.length === 0 ? null : (
        <details>
          <summary>Read but not used ({preview.noted.length})</summary>
          <ul class="lines">
            {preview.noted.map(({ analyte, asWritten, why }) => (
              <li key={analyte}>
                {analyte} {asWritten}: {why}
              </li>
            ))}
          </ul>
        </details>
      )}
      <div class="actions">
        <Button class={isSuspect ? '' : 'is-main'} isOff={isBusy} onClick={() => onTake(true)}>
          {isSuspect ? 'Accept it in spite of the doubts' : 'Accept the report'}
        </Button>
        {isSuspect ? (
          <Button class="is-main" isOff={isBusy} onClick={() => onTake(false)}>
            Hold it for later
          </Button>
        ) : null}
        <button type="button" class="is-plain" onClick={onDrop}>
          Leave it
        </button>
      </div>
    </div>
  )
}

/** Sigmas between what was believed of the bottle’s moment and what the laboratory says, in words. */
function tellSurprise(believed: number | undefined, laboratory: number | undefined, sd: number): string {
  if (believed === undefined || laboratory === undefined || !(sd > 0)) return '–'
  const sigmas = Math.abs(laboratory - believed) / sd
  const word = sigmas < 1.5 ? 'as expected' : sigmas < 3 ? 'a little off' : '△ surprising'
  return `${word} (${sigmas.toFixed(1)} σ)`
}

function EffectTable({ preview }: { readonly preview: LaboratoryPreview }): JSX.Element {
  const written = new Map(preview.values.map(({ element, asWritten }) => [element, asWritten]))
  const told = (mgPerL: number, sdMgPerL: number) => `${tellNumber(mgPerL)} ± ${tellNumber(sdMgPerL)}`
  return (
    <Table
      caption={`Effect on each element, ${usePreferences().concentration}`}
      rows={preview.effects}
      keyOf={({ element }) => element}
      columns={[
        { title: 'Element', tell: ({ element }) => element },
        { title: 'As written', tell: ({ element }) => written.get(element) ?? NOTHING },
        {
          title: 'Believed of that bottle',
          tell: ({ atSamplingMgPerL: believed }) => (believed === undefined ? NOTHING : tellNumber(believed)),
        },
        {
          title: 'Surprise',
          tell: ({ atSamplingMgPerL, laboratoryMgPerL, beforeSdMgPerL }) =>
            tellSurprise(atSamplingMgPerL, laboratoryMgPerL, beforeSdMgPerL),
        },
        { title: 'Now, from', tell: ({ beforeMgPerL, beforeSdMgPerL }) => told(beforeMgPerL, beforeSdMgPerL) },
        { title: 'to', tell: ({ afterMgPerL, afterSdMgPerL }) => told(afterMgPerL, afterSdMgPerL) },
      ]}
    />
  )
}
