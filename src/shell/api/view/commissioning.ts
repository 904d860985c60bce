/** What stands between a new site and the next mode. */

import type { LedgerRecord } from '../../../reservoir/record.ts'
import { stockLimitsOf } from '../../../safety/limits.ts'
import { calibrationDayUl } from '../../../safety/sums.ts'
import type { Commissioning } from '../schema/commissioning.ts'
import type { Site } from '../site.ts'
import { INSIDE_UNITS } from './now.ts'

const NEXT = { observe: 'advise', advise: 'automatic', automatic: undefined } as const

export async function commissioningView(site: Site): Promise<Commissioning> {
  const state = site.state()
  const { safety } = state
  const said = await site.records(['instructed'], { fromMs: 0, untilMs: site.nowMs() })
  const lastOf = (name: string, about: string) =>
    said.findLast(({ instruction }) =>
      instruction.instruction === 'calibrate'
        ? name === 'calibrate' && instruction.probe === about
        : instruction.instruction === 'pump-rate' && name === 'pump-rate' && instruction.stock === about,
    )
  const { site: file } = site.configuration
  const nextMode = NEXT[safety.mode]
  const tried = await lastTried(site, said)
  const pumps = file.stocks.map((stock) => {
    const told = lastOf('pump-rate', stock.id)
    const measured = safety.ratesUlPerS[stock.id]
    const maxRunMs = safety.nodes[stock.node]?.pumps[stock.pump]?.maxRunMs ?? null
    return {
      ...{ stock: stock.id, node: stock.node, pump: stock.pump, isAcid: stock.kind === 'acid' },
      rateMlPerMin: measured === undefined ? stock.rateMlPerMin : (measured * 60) / 1000,
      ...(told ? { measuredAtMs: told.atMs, by: told.by } : {}),
      online: safety.nodes[stock.node]?.online ?? false,
      ...(maxRunMs === null ? {} : { maxRunMs }),
      ...runsOf(site, stock.id),
      ...(tried[stock.id] === undefined ? {} : { triedAtMs: tried[stock.id] }),
    }
  })
  const probes = probesOf(site, (probe) => lastOf('calibrate', probe))
  return {
    mode: safety.mode,
    ...(nextMode === undefined ? {} : { nextMode }),
    ...{ checklist: checklistOf(site, pumps, probes), pumps, probes },
    nodes: Object.entries(safety.nodes).map(([node, { online, pumps: heard }]) => ({
      ...{ node, online },
      pumps: Object.keys(heard).map((id) => {
        const stock = file.stocks.find((one) => one.node === node && one.pump === id)?.id
        return { id, ...(stock === undefined ? {} : { stock }) }
      }),
    })),
  }
}

/** Each probe as calibrated, and what it shows. */
function probesOf(site: Site, lastOf: (probe: string) => Instructed | undefined): Commissioning['probes'] {
  const { safety, core } = site.state()
  return site.configuration.site.probes.map((probe, at) => {
    const told = lastOf(probe.id)
    const reading = safety.readings[probe.id]
    const { slope, offset } = core?.sense.calibrations[at] ?? { slope: 1, offset: 0 }
    return {
      ...{ probe: probe.id, node: probe.node, role: probe.role, slope, offset },
      unit: INSIDE_UNITS[probe.role] ?? '',
      ...(told ? { calibratedAtMs: told.atMs, by: told.by } : {}),
      ...(reading ? { value: reading.value, atMs: reading.atMs } : {}),
    }
  })
}

/** What its pump may give for a person, and how much of the day’s cap is left. */
function runsOf({ settings, state, nowMs }: Site, stock: string): Pick<Commissioning['pumps'][number], 'runs'> {
  const allowed = stockLimitsOf(settings.limits, stock)?.calibration
  if (allowed === undefined) return {}
  const ranUl = calibrationDayUl(settings.limits, state().safety.book, stock, nowMs())
  const { runMaxUl, dayMaxUl } = allowed
  const dayLeftMl = Math.max(0, dayMaxUl - ranUl) / 1000
  return { runs: { runMaxMl: runMaxUl / 1000, dayMaxMl: dayMaxUl / 1000, dayLeftMl } }
}

type Instructed = Extract<LedgerRecord, { readonly kind: 'instructed' }>

/** When each pump last ran for a person, by its settled runs: a word alone may have been refused. */
async function lastTried(site: Site, said: readonly Instructed[]): Promise<Readonly<Record<string, number>>> {
  const tried: Record<string, number> = {}
  for (const { instruction, atMs } of said.toReversed()) {
    if (instruction.instruction !== 'pump-run' || instruction.stock in tried) continue
    const settled = await site.records(['settled'], { fromMs: atMs, untilMs: atMs + SETTLED_WITHIN_MS })
    const ran = settled.find(
      ({ stock, purpose, delivered }) => stock === instruction.stock && purpose !== undefined && delivered.lowUl > 0,
    )
    if (ran) tried[instruction.stock] = ran.atMs
  }
  return tried
}

/** The longest run, its start window and a late heartbeat. */
const SETTLED_WITHIN_MS = 15 * 60_000

function checklistOf(
  site: Site,
  pumps: Commissioning['pumps'],
  probes: Commissioning['probes'],
): Commissioning['checklist'] {
  const { safety, core } = site.state()
  const isRead = core !== null && core.history.filter.atMs > 0
  return [
    ...equipment(site, pumps, probes),
    check(
      'no-trip',
      safety.trips.length === 0,
      'no interlock has tripped',
      'find each cause, then reset it with a reason',
    ),
    check('no-hold', safety.held === null, 'nobody holds the dosing', 'release it when its reason is gone'),
    check('estimate', isRead, 'an estimate is there', 'wait for the first readings'),
    check(
      'report',
      typeof core?.sampledAtMs === 'number',
      'a laboratory report was taken in',
      'draw a bottle of the fill',
    ),
  ]
}

function equipment(
  site: Site,
  pumps: Commissioning['pumps'],
  probes: Commissioning['probes'],
): Commissioning['checklist'] {
  const absent = Object.entries(site.state().safety.nodes).flatMap(([node, { online }]) => (online ? [] : [node]))
  const unmeasured = pumps.flatMap(({ measuredAtMs, stock }) => (measuredAtMs === undefined ? [stock] : []))
  const untried = pumps.flatMap(({ triedAtMs, stock }) => (triedAtMs === undefined ? [stock] : []))
  // A meter of make-up water speaks when it turns: its silence is nothing wrong.
  const silent = probes.flatMap(({ value, probe, role }) => (value === undefined && role !== 'top-up' ? [probe] : []))
  const raw = probes.flatMap(({ role, calibratedAtMs, probe }) =>
    /^(ph|conductivity)$/.test(role) && calibratedAtMs === undefined ? [probe] : [],
  )
  return [
    lacking('nodes', absent, 'every pump node is online', 'switch on'),
    lacking('probes', silent, 'every probe has shown a value', 'look at'),
    lacking('probe-calibration', raw, 'pH and EC probes are calibrated', 'two buffers, or a standard, for'),
    lacking('dry-run', untried, 'every pump was seen to run', 'dry run with water: run, in its form below,'),
    lacking('pump-calibration', unmeasured, 'every pump’s rate was measured', 'with water where it is acid, measure'),
  ]
}

function lacking(
  name: string,
  what: readonly string[],
  text: string,
  next: string,
): Commissioning['checklist'][number] {
  return check(name, what.length === 0, text, `${next} ${what.join(', ')}`)
}

function check(name: string, ok: boolean, text: string, next: string): Commissioning['checklist'][number] {
  return { check: name, text, ok, ...(ok ? {} : { next }) }
}
