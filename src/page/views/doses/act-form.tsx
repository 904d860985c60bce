import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { ActBody } from '../../../shell/api/schema/act.ts'
import type { Taken } from '../../../shell/api/schema/common.ts'
import { type Preferences, usePreferences } from '../../data/preferences.ts'
import { litresOf } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'
import { useActChoices } from './act-choices.ts'
import { ACT_FORMS, type ActFormShape, type ActName } from './act-forms.ts'

/** What was done by hand: chosen, its few figures typed, and when. */
export function ActForm({ stocks }: { readonly stocks: readonly string[] }): JSX.Element {
  const choices = useActChoices(stocks)
  const [name, setName] = useState<ActName>('noted')
  const [values, setValues] = useState<Readonly<Record<string, string>>>({})
  const [doneAt, setDoneAt] = useState('')
  const telling = useTelling<Taken>()
  const preferences = usePreferences()
  const form = ACT_FORMS[name]
  const submit = async (event: Event) => {
    event.preventDefault()
    const done = doneAt === '' ? {} : { doneAtMs: new Date(doneAt).getTime() }
    const act = { act: name, ...done, ...form.body(inLitres(form, values, preferences)) } as ActBody
    if ((await telling.run('/api/act', { act })) !== null) setValues({})
  }
  return (
    <section aria-labelledby="act-title">
      <h2 id="act-title">Done by hand</h2>
      <form onSubmit={submit}>
        <div class="fields">
          <Choice
            label="What"
            value={name}
            onValue={(chosen) => {
              setName(chosen as ActName)
              telling.clear()
            }}
            options={Object.entries(ACT_FORMS).map(([value, { title }]) => ({ value, text: title }))}
          />
          {form.fields.map(({ key, label, type, of, unit, hint, isOptional }) =>
            of !== undefined && choices[of] !== undefined ? (
              <Choice
                key={key}
                label={label}
                value={values[key] ?? ''}
                onValue={(value) => setValues({ ...values, [key]: value })}
                options={[{ value: '', text: 'choose' }, ...choices[of]!]}
              />
            ) : (
              <Input
                key={key}
                label={label}
                type={type}
                value={values[key] ?? ''}
                onValue={(value) => setValues({ ...values, [key]: value })}
                isRequired={isOptional !== true}
                {...(unit === undefined ? {} : { unit: unit === 'L' ? preferences.volume : unit })}
                {...(hint === undefined ? {} : { hint })}
              />
            ),
          )}
          <Input
            label="When"
            type="datetime-local"
            value={doneAt}
            onValue={setDoneAt}
            isRequired={false}
            hint="Now, where left empty"
          />
        </div>
        <Button type="submit" isOff={telling.isBusy}>
          Log it
        </Button>
      </form>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : (
        <Done>{telling.answer.text ?? 'Logged. The estimate takes it with its next step, within ten minutes.'}</Done>
      )}
    </section>
  )
}

type Values = Readonly<Record<string, string>>

/** Volumes are typed in the unit of this screen, and told to the daemon in litres. */
function inLitres({ fields }: ActFormShape, values: Values, preferences: Preferences): Values {
  const litres = fields.filter(({ key, unit }) => unit === 'L' && values[key])
  return {
    ...values,
    ...Object.fromEntries(litres.map(({ key }) => [key, String(litresOf(Number(values[key]), preferences))])),
  }
}
