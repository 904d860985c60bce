/** Doses: what the bottles hold, what was planned and why, what was permitted, refused and delivered; acts by hand. */

import type { JSX } from 'preact'
import type { Doses, Shot, Stocks } from '../../shell/api/schema/dose.ts'
import { useLive } from '../data/live.ts'
import { tellMoment } from '../data/moment.ts'
import { Failure } from '../parts/notice.tsx'
import { ActForm } from './doses/act-form.tsx'
import { ActList } from './doses/act-list.tsx'

const SHOTS_SHOWN = 60

export function DosesView(): JSX.Element {
  const stocks = useLive<Stocks>('/api/stocks')
  const doses = useLive<Doses>(`/api/doses?limit=${SHOTS_SHOWN}`)
  const nowMs = doses.loadedAtMs
  return (
    <>
      <Failure lines={[...stocks.failure, ...doses.failure]} />
      {stocks.value === null ? null : <Bottles stocks={stocks.value.stocks} />}
      <ActForm stocks={stocks.value?.stocks.map(({ stock }) => stock) ?? []} />
      <ActList />
      {doses.value === null ? null : (
        <>
          <Plans plans={doses.value.plans} nowMs={nowMs} />
          <Shots shots={doses.value.shots} nowMs={nowMs} />
        </>
      )}
    </>
  )
}

function Bottles({ stocks }: { readonly stocks: Stocks['stocks'] }): JSX.Element {
  return (
    <section aria-labelledby="bottles-title">
      <h2 id="bottles-title">Bottles</h2>
      <div class="scroll">
        <table>
          <caption>By the book: the least that may be left</caption>
          <thead>
            <tr>
              {['Stock', 'Left', 'Used a day', 'Lasts', 'Cost a day', 'Delivers', 'Just now'].map((title) => (
                <th key={title} scope="col">
                  {title}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {stocks.map((stock) => (
              <tr key={stock.stock}>
                <th scope="row">
                  {stock.stock} <span class="quiet">{stock.batch ?? ''}</span>
                </th>
                <td>{stock.remainingMl === undefined ? 'no refill told' : `${stock.remainingMl.toFixed(0)} mL`}</td>
                <td>{stock.usedPerDayMl.toFixed(0)} mL</td>
                <td class={(stock.daysLeft ?? 99) < 3 ? 'is-abnormal' : ''}>
                  {stock.daysLeft === undefined
                    ? '–'
                    : `${(stock.daysLeft ?? 99) < 3 ? '▲ ' : ''}${stock.daysLeft.toFixed(0)} days`}
                </td>
                <td>{stock.costPerDay === undefined ? '–' : stock.costPerDay.toFixed(2)}</td>
                <td>
                  {stock.deliveryFactor === undefined
                    ? '–'
                    : `${(stock.deliveryFactor * 100).toFixed(0)} % of what is written`}
                </td>
                <td>
                  {stock.blockedBy.length === 0
                    ? `up to ${stock.hourLeftMl.toFixed(0)} mL this hour`
                    : `waits: ${stock.blockedBy.join(', ')}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  )
}

function Plans({ plans, nowMs }: { readonly plans: Doses['plans']; readonly nowMs: number }): JSX.Element {
  return (
    <section aria-labelledby="plans-title">
      <h2 id="plans-title">Plans of the last day</h2>
      {plans.length === 0 ? <p class="quiet">None.</p> : null}
      <ul class="lines">
        {plans.map(({ planId, atMs, doses, notes }) => (
          <li key={planId}>
            <time>{tellMoment(atMs, nowMs)}</time>{' '}
            {doses.length === 0 ? 'Nothing to dose.' : doses.map(({ reason }) => reason).join(' ')}
            {notes.map((note) => (
              <p key={note} class="quiet">
                {note}
              </p>
            ))}
          </li>
        ))}
      </ul>
    </section>
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

function Shots({ shots, nowMs }: { readonly shots: readonly Shot[]; readonly nowMs: number }): JSX.Element {
  return (
    <section aria-labelledby="shots-title">
      <h2 id="shots-title">Shots of the last day</h2>
      {shots.length === 0 ? <p class="quiet">None.</p> : null}
      <ul class="lines">
        {shots.map((shot) => (
          <li key={shot.commandId}>
            <time>{tellMoment(shot.atMs, nowMs)}</time> {shot.volumeMl.toFixed(2)} mL {shot.stock}:{' '}
            {OUTCOMES[shot.outcome]}
            {tellDelivered(shot)}
            {shot.interlocks.map(({ interlock, text }) => (
              <p key={interlock} class="is-abnormal">
                ✕ {text}
              </p>
            ))}
            <details>
              <summary>Figures it was judged by</summary>
              <dl class="readings">
                {Object.entries(shot.figures).map(([name, figure]) => (
                  <div key={name}>
                    <dt>{name}</dt>
                    <dd>
                      <small>{String(figure)}</small>
                    </dd>
                  </div>
                ))}
              </dl>
            </details>
          </li>
        ))}
      </ul>
    </section>
  )
}

function tellDelivered({ deliveredLowMl: low, deliveredHighMl: high }: Shot): string {
  if (low === undefined || high === undefined) return ''
  return high - low < 0.005 ? `, ${high.toFixed(2)} mL` : `, between ${low.toFixed(2)} and ${high.toFixed(2)} mL`
}
