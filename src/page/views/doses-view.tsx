/** Doses: what the bottles hold, what was planned and why, what was permitted, refused and delivered; acts by hand. */

import type { JSX } from 'preact'
import type { Doses, Shot, Stocks } from '../../shell/api/schema/dose.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import { useWords } from '../data/words.ts'
import { Failure } from '../parts/notice.tsx'
import { SignInFirst } from '../parts/sign-in-first.tsx'
import { NOTHING, Table } from '../parts/table.tsx'
import { Unfolding } from '../parts/unfolding.tsx'
import { ActForm } from './doses/act-form.tsx'
import { ActList } from './doses/act-list.tsx'
import { tellFigures } from './doses/figure-words.ts'

const SHOTS_ASKED = 150
const SHOTS_SHOWN = 12
const PLANS_SHOWN = 2
const LASTS_SHORT_DAYS = 3

export function DosesView(): JSX.Element {
  const stocks = useLive<Stocks>('/api/stocks')
  const doses = useLive<Doses>(`/api/doses?limit=${SHOTS_ASKED}`)
  const nowMs = doses.loadedAtMs
  // bottles and refusals stand above the form: coming after it they would move what a finger is about to touch
  const isAsked = [stocks, doses].every(({ value, failure }) => value !== null || failure.length > 0)
  if (!isAsked) return <p class="quiet">Asking the daemon…</p>
  return (
    <>
      <Failure lines={[...stocks.failure, ...doses.failure]} />
      <SignInFirst as="grower" to="log what was done; anybody may look" />
      {stocks.value === null ? null : <Bottles stocks={stocks.value.stocks} />}
      <div class="columns is-even">
        <div>
          {doses.value === null ? null : (
            <Refusals refusals={doses.value.refusals} shots={doses.value.shots} nowMs={nowMs} />
          )}
          <ActForm stocks={stocks.value?.stocks.map(({ stock }) => stock) ?? []} />
          <ActList />
          {doses.value === null ? null : <Notes notes={doses.value.notes} nowMs={nowMs} />}
        </div>
        {doses.value === null ? null : (
          <div>
            <Plans plans={doses.value.plans} nowMs={nowMs} />
            <Shots shots={doses.value.shots} nowMs={nowMs} />
          </div>
        )}
      </div>
    </>
  )
}

function Bottles({ stocks }: { readonly stocks: Stocks['stocks'] }): JSX.Element {
  return (
    <section aria-labelledby="bottles-title">
      <h2 id="bottles-title">Bottles</h2>
      <Table
        caption="By the book: the least that may be left"
        rows={stocks}
        keyOf={({ stock }) => stock}
        columns={[
          { title: 'Stock', tell: (stock) => [stock.stock, ' ', <span class="quiet">{stock.batch ?? ''}</span>] },
          { title: 'Just now', tell: (stock) => <Room stock={stock} /> },
          {
            title: 'Left',
            tell: ({ remainingMl }) => (remainingMl === undefined ? 'no refill told' : `${remainingMl.toFixed(0)} mL`),
          },
          { title: 'Used a day', tell: ({ usedPerDayMl }) => `${usedPerDayMl.toFixed(0)} mL` },
          {
            title: 'Lasts',
            tell: ({ daysLeft }) =>
              daysLeft === undefined ? <Missing text="log a refill" /> : <Lasts days={daysLeft} />,
          },
          { title: 'Cost a day', tell: ({ costPerDay }) => costPerDay?.toFixed(2) ?? <Missing text="no price told" /> },
          {
            title: 'Delivers',
            tell: ({ deliveryFactor: factor }) =>
              factor === undefined ? NOTHING : `${(factor * 100).toFixed(0)} % of what is written`,
          },
        ]}
      />
    </section>
  )
}

/** What may go this hour, or what it waits for; after a start that is nearly everything. */
function Room({ stock }: { readonly stock: Stocks['stocks'][number] }): JSX.Element {
  const words = useWords()
  const { blockedBy, blockedWhy, hourLeftMl } = stock
  if (blockedBy.length === 0) return <>up to {hourLeftMl.toFixed(0)} mL this hour</>
  const more = blockedBy.length - 1
  return (
    <details>
      <summary>
        waits: {words(firstClause(blockedWhy[0] ?? blockedBy[0] ?? ''))}
        {more > 0 ? `, and ${more} more` : ''}
      </summary>
      <ul class="lines">
        {blockedBy.map((interlock, at) => (
          <li key={interlock}>
            <code>{interlock}</code>: {words(blockedWhy[at] ?? '')}
          </li>
        ))}
      </ul>
    </details>
  )
}

/** Up to what a person should do, which stands below with the rest. */
function firstClause(why: string): string {
  return why.split('; ')[0] ?? why
}

/** What is not known here, and what would make it known. */
function Missing({ text }: { readonly text: string }): JSX.Element {
  return <span class="quiet">{text}</span>
}

function Lasts({ days }: { readonly days: number }): JSX.Element {
  const isShort = days < LASTS_SHORT_DAYS
  return <span class={isShort ? 'is-abnormal' : ''}>{`${isShort ? '▲ ' : ''}${days.toFixed(0)} days`}</span>
}

function Plans({ plans, nowMs }: { readonly plans: Doses['plans']; readonly nowMs: number }): JSX.Element {
  return (
    <section aria-labelledby="plans-title">
      <h2 id="plans-title">Plans of the last day</h2>
      {plans.length === 0 ? <p class="quiet">None.</p> : null}
      <PlanList plans={plans.slice(0, PLANS_SHOWN)} nowMs={nowMs} />
      {plans.length <= PLANS_SHOWN ? null : (
        <details>
          <summary>Earlier plans ({plans.length - PLANS_SHOWN})</summary>
          <PlanList plans={plans.slice(PLANS_SHOWN)} nowMs={nowMs} />
        </details>
      )}
    </section>
  )
}

function PlanList({ plans, nowMs }: { readonly plans: Doses['plans']; readonly nowMs: number }): JSX.Element {
  const words = useWords()
  return (
    <ul class="lines">
      {plans.map(({ planId, atMs, doses }) => (
        <li key={planId}>
          <time>{tellMoment(atMs, nowMs)}</time> {doses.length === 0 ? 'Nothing to dose.' : null}
          {doses.map(({ stock, reason }) => (
            <p key={`${stock} ${reason}`}>{words(reason)}</p>
          ))}
        </li>
      ))}
    </ul>
  )
}

const OUTCOMES: Readonly<Record<Shot['outcome'], string>> = {
  done: '✓ done',
  refused: '✕ refused by the node',
  stopped: '△ stopped on the way',
  'not-sent': 'not sent, nothing delivered',
  unknown: '▲ unknown: counts as delivered',
  open: 'running or on its way',
  'never-sent': '✕ refused here, never sent',
}

const PURPOSES: Readonly<Record<NonNullable<Shot['purpose']>, string>> = {
  ration: 'as a ration, by the make-up meter',
  calibration: 'for a person, into a measuring glass',
}

interface ShotsProps {
  readonly shots: readonly Shot[]
  readonly nowMs: number
}

/** What was refused stands apart and first: whoever comes to this view with a question asks about these. */
function Refusals({
  refusals,
  shots,
  nowMs,
}: ShotsProps & { readonly refusals: Doses['refusals'] }): JSX.Element | null {
  const words = useWords()
  const refused = shots.filter(({ outcome }) => outcome === 'never-sent' || outcome === 'refused')
  if (refused.length === 0) return null
  return (
    <section aria-labelledby="refused-title">
      <h2 id="refused-title">Refused lately, and why</h2>
      {refusals.length > 0 ? null : (
        <p>
          {refused.length === 1 ? 'One shot was' : `${refused.length} shots were`} refused by a node; nothing of it ran.
        </p>
      )}
      <ul class="lines">
        {refusals.map(({ stock, interlock, rule, found, count, lastAtMs }) => (
          <li key={`${stock} ${interlock}`}>
            <p class="is-abnormal">
              ✕ {stock}: {words(found ?? rule)}
            </p>
            <p class="quiet">
              <code>{interlock}</code>, {count === 1 ? 'once' : `${count} times`}, last{' '}
              <time>{tellMoment(lastAtMs, nowMs)}</time>. What must hold: {words(rule)}
            </p>
          </li>
        ))}
      </ul>
      <details>
        <summary>Each refused shot with its figures ({refused.length})</summary>
        <ShotList shots={refused.slice(0, SHOTS_SHOWN)} nowMs={nowMs} />
      </details>
    </section>
  )
}

/** What the plans had to say, once for each cause. */
function Notes({ notes, nowMs }: { readonly notes: Doses['notes']; readonly nowMs: number }): JSX.Element | null {
  const words = useWords()
  if (notes.length === 0) return null
  return (
    <section aria-labelledby="notes-title">
      <h2 id="notes-title">What the plans noted</h2>
      <ul class="lines">
        {notes.map(({ text, count, firstAtMs, lastAtMs }) => (
          <li key={text}>
            {words(text)}
            <p class="quiet">
              {count === 1
                ? tellMoment(lastAtMs, nowMs)
                : `${count} times, from ${tellMoment(firstAtMs, nowMs)} to ${tellMoment(lastAtMs, nowMs)}`}
            </p>
          </li>
        ))}
      </ul>
    </section>
  )
}

function Shots({ shots, nowMs }: ShotsProps): JSX.Element {
  return (
    <section aria-labelledby="shots-title">
      <h2 id="shots-title">Shots of the last day</h2>
      {shots.length === 0 ? <p class="quiet">None.</p> : null}
      <ShotList shots={shots.slice(0, SHOTS_SHOWN)} nowMs={nowMs} />
      {shots.length <= SHOTS_SHOWN ? null : (
        <details>
          <summary>Earlier shots ({shots.length - SHOTS_SHOWN})</summary>
          <ShotList shots={shots.slice(SHOTS_SHOWN)} nowMs={nowMs} />
        </details>
      )}
    </section>
  )
}

function ShotList({ shots, nowMs }: ShotsProps): JSX.Element {
  const words = useWords()
  return (
    <ul class="lines">
      {shots.map((shot) => (
        <li key={shot.commandId} class="shot">
          <div>
            <time>{tellMoment(shot.atMs, nowMs)}</time> {shot.volumeMl.toFixed(2)} mL {shot.stock}:{' '}
            {OUTCOMES[shot.outcome]}
            {tellDelivered(shot)}
            {shot.purpose === undefined ? null : <span class="quiet"> {PURPOSES[shot.purpose]}</span>}
            {shot.nodeSaid === undefined ? null : <p class="is-abnormal">The node said: {shot.nodeSaid}</p>}
            {shot.interlocks.map(({ interlock, text, found }) => (
              <p key={interlock} class="is-abnormal">
                ✕ {words(found ?? text)} <code>{interlock}</code>
              </p>
            ))}
          </div>
          <Figures shot={shot} nowMs={nowMs} />
        </li>
      ))}
    </ul>
  )
}

/** Those of a day’s shots would be fifty times as much as all else in the view. */
function Figures({ shot, nowMs }: { readonly shot: Shot; readonly nowMs: number }): JSX.Element {
  return (
    <Unfolding
      summary={
        <>
          Figures<span class="unseen"> that the shot of {tellMoment(shot.atMs, nowMs)} was judged by</span>
        </>
      }
      tell={() =>
        tellFigures(shot.figures).map(({ title, figures }) => (
          <section key={title}>
            <h4>{title}</h4>
            <dl class="readings is-small">
              {figures.map(({ what, told }) => (
                <div key={what}>
                  <dt>{what}</dt>
                  <dd>{told}</dd>
                </div>
              ))}
            </dl>
          </section>
        ))
      }
    />
  )
}

function tellDelivered({ deliveredLowMl: low, deliveredHighMl: high }: Shot): string {
  if (low === undefined || high === undefined) return ''
  return high - low < 0.005 ? `, ${high.toFixed(2)} mL` : `, between ${low.toFixed(2)} and ${high.toFixed(2)} mL`
}
