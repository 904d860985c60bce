import type { JSX } from 'preact'
import type { Learning } from '../../../shell/api/schema/diagnosis.ts'
import { useLive } from '../../data/live.ts'
import { tellMoment } from '../../data/moment.ts'
import { useMe } from '../../data/session.ts'
import { Failure } from '../../parts/notice.tsx'
import { SayForm, Unfold } from '../../parts/say-form.tsx'
import { NOTHING, Table } from '../../parts/table.tsx'

type Factor = Learning['factors'][number]

/** What the reports taught of crop, water, probes and bottles; what is learned clearly stands first, all else is folded. */
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
    <Table
      caption={`${caption}; 90 % intervals, 100 % is as configured`}
      rows={factors}
      keyOf={({ id }) => id}
      columns={[
        { title: 'Of', tell: ({ name }) => name },
        { title: 'Now', tell: ({ now, unit }) => tell(now.value, unit) },
        { title: 'Between', tell: ({ now, unit }) => tellRange(now, unit) },
        { title: 'At the start between', tell: ({ prior, unit }) => tellRange(prior, unit) },
      ]}
    />
  )
}

function Histories({ factors, nowMs }: { readonly factors: readonly Factor[]; readonly nowMs: number }): JSX.Element {
  const marks = factors[0]?.history ?? []
  return (
    <Table
      caption="Where each stood once the report of a bottle was taken in"
      rows={marks}
      keyOf={({ sampledAtMs }) => String(sampledAtMs)}
      columns={[
        { title: 'Bottle of', tell: ({ sampledAtMs }) => tellMoment(sampledAtMs, nowMs) },
        ...factors.map(({ name, unit, history }) => ({
          title: name,
          tell: (_mark: (typeof marks)[number], at: number) => {
            const mark = history[at]
            return mark === undefined ? NOTHING : tell(mark.value, unit)
          },
        })),
      ]}
    />
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
