/** What stands between a new site and the next mode. */

import type { Commissioning } from '../schema/commissioning.ts'
import type { Site } from '../site.ts'

const NEXT = { observe: 'advise', advise: 'automatic', automatic: undefined } as const

export async function commissioningView(site: Site): Promise<Commissioning> {
  const state = site.state()
  const { safety, core } = state
  const said = await site.records(['instructed'], { fromMs: 0, untilMs: site.nowMs() })
  const lastOf = (name: string, about: string) =>
    said.findLast(({ instruction }) =>
      instruction.instruction === 'calibrate'
        ? name === 'calibrate' && instruction.probe === about
        : instruction.instruction === 'pump-rate' && name === 'pump-rate' && instruction.stock === about,
    )
  const { site: file } = site.configuration
  const nextMode = NEXT[safety.mode]
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
    }
  })
  const probes = file.probes.map((probe, at) => {
    const told = lastOf('calibrate', probe.id)
    const reading = safety.readings[probe.id]
    const { slope, offset } = core?.sense.calibrations[at] ?? { slope: 1, offset: 0 }
    return {
      ...{ probe: probe.id, node: probe.node, role: probe.role, unit: probe.unit, slope, offset },
      ...(told ? { calibratedAtMs: told.atMs, by: told.by } : {}),
      ...(reading ? { value: reading.value, atMs: reading.atMs } : {}),
    }
  })
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
  const silent = probes.flatMap(({ value, probe }) => (value === undefined ? [probe] : []))
  const raw = probes.flatMap(({ role, calibratedAtMs, probe }) =>
    /^(ph|conductivity)$/.test(role) && calibratedAtMs === undefined ? [probe] : [],
  )
  return [
    lacking('nodes', absent, 'every pump node is online', 'switch on'),
    lacking('probes', silent, 'every probe has shown a value', 'look at'),
    lacking('probe-calibration', raw, 'pH and EC probes are calibrated', 'two buffers, or a standard, for'),
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
