/** What was planned, judged and delivered, and what the bottles still hold. */

import { DELIVERY_FACTOR } from '../../../core/estimate/layout.ts'
import type { Act } from '../../../reservoir/input.ts'
import { headroom } from '../../../safety/headroom.ts'
import { INTERLOCKS } from '../../../safety/interlocks.ts'
import type { Doses, Shot, Stocks } from '../schema/dose.ts'
import type { Period, Site } from '../site.ts'
import { gatherNotes, gatherRefusals } from './gathered.ts'

const DAY_MS = 86_400_000
const USE_OVER_DAYS = 7
const RULES = new Map(INTERLOCKS.map(({ id, rule }) => [id, rule]))

/** Plans, shots and sums of a period. */
export async function dosesView(site: Site, period: Period, limit: number): Promise<Doses> {
  const records = await site.records(['planned', 'judged', 'settled', 'event'], period)
  const shots = new Map<string, Shot>()
  const order: Shot[] = []
  const plans: Doses['plans'] = []
  for (const record of records) {
    if (record.kind === 'planned') {
      const doses = record.doses.map(({ stock, volumeUl, reason }) => ({ stock, volumeMl: volumeUl / 1000, reason }))
      plans.push({ planId: record.planId, atMs: record.atMs, doses, notes: [...record.notes] })
    } else if (record.kind === 'judged') {
      const shot = shotOf(record)
      shots.set(record.commandId, shot)
      order.push(shot)
    } else if (record.kind === 'event') {
      const shot = shots.get(record.unwilling?.commandId ?? '')
      if (shot && record.unwilling) shot.nodeSaid = record.unwilling.reason
    } else {
      const shot = shots.get(record.commandId)
      if (!shot) continue
      shot.outcome = record.outcome
      shot.deliveredLowMl = record.delivered.lowUl / 1000
      shot.deliveredHighMl = record.delivered.highUl / 1000
      shot.settledAtMs = record.atMs
    }
  }
  return {
    ...{ from: period.fromMs, to: period.untilMs },
    plans: plans.toReversed().slice(0, limit),
    shots: order.toReversed().slice(0, limit),
    refusals: gatherRefusals(order),
    notes: gatherNotes(plans),
    totals: totalsOf(order),
  }
}

type Judged = Awaited<ReturnType<Site['records']>>[number] & { readonly kind: 'judged' }

function shotOf(record: Judged): Shot {
  const { commandId, planId, atMs, stock, pump, volumeUl, verdict, purpose } = record
  return {
    ...{ commandId, planId, atMs, stock, pump, volumeMl: volumeUl / 1000, verdict },
    ...(purpose === undefined ? {} : { purpose }),
    interlocks: record.why.map((told, at) => interlockOf(told, record.found?.[at])),
    figures: { ...record.figures },
    outcome: verdict === 'permit' ? 'open' : 'never-sent',
  }
}

/** Its name, its rule, and what it found. */
function interlockOf(told: string, found: string | undefined): Shot['interlocks'][number] {
  const interlock = told.split(':')[0]!
  // the line it stands in says already what was refused
  const plain = found?.replace(/^Refused .*? of [^:]+: /, '')
  return { interlock, text: RULES.get(interlock) ?? told, ...(plain === undefined ? {} : { found: plain }) }
}

function totalsOf(shots: readonly Shot[]): Doses['totals'] {
  const totals = new Map<string, Doses['totals'][number]>()
  for (const shot of shots) {
    const sum = totals.get(shot.stock) ?? { stock: shot.stock, lowMl: 0, highMl: 0, shots: 0, refused: 0 }
    const isRefused = shot.verdict === 'refuse'
    totals.set(shot.stock, {
      ...sum,
      lowMl: sum.lowMl + (shot.deliveredLowMl ?? 0),
      highMl: sum.highMl + (shot.deliveredHighMl ?? (isRefused ? 0 : shot.volumeMl)),
      shots: sum.shots + (isRefused ? 0 : 1),
      refused: sum.refused + (isRefused ? 1 : 0),
    })
  }
  return [...totals.values()]
}

/** Each bottle: what is left of its last refill by the book, and for how many days at the pace of the last week. */
export async function stocksView(site: Site): Promise<Stocks> {
  const nowMs = site.nowMs()
  const state = site.state()
  const acts = await site.records(['act'], { fromMs: 0, untilMs: nowMs })
  const refills = refillsOf(acts)
  const sinceMs = Math.min(nowMs - USE_OVER_DAYS * DAY_MS, ...[...refills.values()].map(({ doneAtMs }) => doneAtMs))
  const settled = await site.records(['settled'], { fromMs: sinceMs, untilMs: nowMs })
  const room = headroom(site.settings.limits, state.safety, nowMs)
  return {
    stocks: site.configuration.site.stocks.map((stock, at) => {
      const filled = refills.get(stock.id)
      const used = (fromMs: number): number =>
        settled.reduce(
          (sum, record) =>
            record.stock === stock.id && record.atMs >= fromMs ? sum + record.delivered.highUl / 1000 : sum,
          0,
        )
      const usedPerDayMl = used(nowMs - USE_OVER_DAYS * DAY_MS) / daysOf(settled[0]?.atMs ?? nowMs, nowMs)
      const remainingMl = filled && Math.max(0, filled.volumeMl - used(filled.doneAtMs))
      const left = room.stocks.find((one) => one.stock === stock.id)
      const factor = state.core?.history.filter.mean[DELIVERY_FACTOR + at]
      const measured = state.safety.ratesUlPerS[stock.id]
      return {
        ...{ stock: stock.id, kind: stock.kind, node: stock.node, pump: stock.pump, usedPerDayMl },
        rateMlPerMin: measured === undefined ? stock.rateMlPerMin : (measured * 60) / 1000,
        ...(filled ? { refilledAtMs: filled.doneAtMs, refilledMl: filled.volumeMl } : {}),
        ...(remainingMl === undefined ? {} : { remainingMl }),
        ...(remainingMl !== undefined && usedPerDayMl > 0 ? { daysLeft: remainingMl / usedPerDayMl } : {}),
        ...(factor === undefined ? {} : { deliveryFactor: Math.exp(factor) }),
        blockedBy: [...(left?.blockedBy ?? [])],
        blockedWhy: [...(left?.blockedWhy ?? [])],
        hourLeftMl: (left?.hourUl ?? 0) / 1000,
        dayLeftMl: (left?.dayUl ?? 0) / 1000,
      }
    }),
  }
}

type Refill = Extract<Act, { readonly act: 'stock-refilled' }>

/** The last refill of each stock. */
function refillsOf(acts: readonly { readonly act: Act }[]): ReadonlyMap<string, Refill> {
  return new Map(acts.flatMap(({ act }) => (act.act === 'stock-refilled' ? [[act.stock, act] as const] : [])))
}

function daysOf(firstMs: number, nowMs: number): number {
  return Math.min(USE_OVER_DAYS, Math.max(1 / 24, (nowMs - firstMs) / DAY_MS))
}
