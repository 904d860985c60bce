import type { JSX } from 'preact'
import type { Learning } from '../../../shell/api/schema/diagnosis.ts'
import { useLive } from '../../data/live.ts'
import { tellMoment } from '../../data/moment.ts'
import { useMe } from '../../data/session.ts'
import { Failure } from '../../parts/notice.tsx'
import { SayForm, Unfold } from '../../parts/say-form.tsx'

type Factor = Learning['factors'][number]

/** What the reports taught of crop, probes and bottles; what is learned clearly stands first, all else is folded. */
export function Learned(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Learning>('/api/learning')
  const { may } = useMe()
  if (value === null) return <Failure lines={failure} />
  const learned = value.factors.filter(({ isLearned }) => isLearned)
  const others = value.factors.filter(({ isLearned }) => !isLearned)
  return (
    <section aria-labelledby="learned-title">
      <h2 id="learned-title">What the reports have taught</h2>
      <p>{value.text}</p>
      {learned.length === 0 ? null : <Factors caption="Known better than at the start" factors={learned} />}
      {others.length === 0 ? null : (
        <Unfold label={`Still near where it began (${others.length})`}>
          <Factors caption="Still near where it began" factors={others} />
        </Unfold>
      )}
      {value.factors.some(({ history }) => history.length > 1) ? (
        <Unfold label="After each report">
          <Histories factors={learned.length > 0 ? learned : others} nowMs={loadedAtMs} />
        </Unfold>
      ) : null}
      {value.resets.map(({ atMs, by, reason }) => (
        <p key={String(atMs)} class="quiet">
          Begun afresh {tellMoment(atMs, loadedAtMs)} by {by}: {reason}
        </p>
      ))}
      {may('technician') ? (
        <Unfold label="Begin afresh">
          <SayForm instruction={{ instruction: 'reset-learning' }} label="Forget what was learned" onDone={reload}>
            <p>
              For another crop or another probe: growth, uptake, probe and bottle factors go back to where they began.
              What is believed to be in the water stays.
            </p>
          </SayForm>
        </Unfold>
      ) : null}
    </section>
  )
}

function Factors({ caption, factors }: { readonly caption: string; readonly factors: readonly Factor[] }): JSX.Element {
  return (
    <div class="scroll">
      <table>
        <caption>{caption}; 90 % intervals, 100 % is as configured</caption>
        <thead>
          <tr>
            <th scope="col">Of</th>
            <th scope="col">Now</th>
            <th scope="col">Between</th>
            <th scope="col">At the start between</th>
          </tr>
        </thead>
        <tbody>
          {factors.map(({ id, name, unit, now, prior }) => (
            <tr key={id}>
              <th scope="row">{name}</th>
              <td>{tell(now.value, unit)}</td>
              <td>{tellRange(now, unit)}</td>
              <td>{tellRange(prior, unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

function Histories({ factors, nowMs }: { readonly factors: readonly Factor[]; readonly nowMs: number }): JSX.Element {
  const marks = factors[0]?.history ?? []
  return (
    <div class="scroll">
      <table>
        <caption>Where each stood once the report of a bottle was taken in</caption>
        <thead>
          <tr>
            <th scope="col">Bottle of</th>
            {factors.map(({ id, name }) => (
              <th scope="col" key={id}>
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {marks.map(({ sampledAtMs }, at) => (
            <tr key={String(sampledAtMs)}>
              <th scope="row">{tellMoment(sampledAtMs, nowMs)}</th>
              {factors.map(({ id, unit, history }) => {
                const mark = history[at]
                return <td key={id}>{mark === undefined ? '–' : tell(mark.value, unit)}</td>
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

function tell(value: number, unit: Factor['unit']): string {
  return unit === 'pH' ? `${value >= 0 ? '+' : '−'}${Math.abs(value).toFixed(2)}` : `${(100 * value).toFixed(0)} %`
}

function tellRange(
  { low90, high90 }: { readonly low90: number; readonly high90: number },
  unit: Factor['unit'],
): string {
  return `${tell(low90, unit)} to ${tell(high90, unit)}`
}
