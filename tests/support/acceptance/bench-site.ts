/** The example site in a folder of its own, changed for a test: another broker, short waits, a fill far from its aims. */

import { cpSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse, stringify } from 'yaml'
import { plantOfSite } from '../../../simulator/site-plant.ts'
import { scratchFolder } from '../../unit/ledger/scratch.ts'
import { ROOT } from './tarnward.ts'

const DAY_MS = 86_400_000
/** Half a minute of pump: long enough to be caught in the middle, settled before the next plan. */
const SHOT_MAX_ML = 15

export interface BenchSite {
  readonly folder: string
  readonly siteFile: string
  readonly scenarioFile: string
  /** the site's name in the topics */
  readonly name: string
}

type Text = Record<string, unknown>

/**
 * The example with potassium and nitrate far below their aims, so that doses are wanted at the first plan, with
 * every wait as short as the files allow and a scan every 5 s. Cohorts stand ten days before `startMs`, which is the
 * plant's first day too.
 */
export function hungryBench(link: Text, startMs: number): BenchSite {
  const { site, limits } = example()
  const fill = site['firstFill'] as { elements: Text }
  const stocks = Object.entries(limits['stocks'] as Record<string, Text>)
  const hungry = {
    ...site,
    reservoir: { ...(site['reservoir'] as Text), mixingMin: 1 },
    firstFill: { ...fill, elements: { ...fill.elements, K: 120, 'NO3-N': 90 } },
    cohorts: transplanted(site, startMs - 10 * DAY_MS),
    planning: { intervalMin: 30, gapSharePerDay: 2, marginSds: 1 },
    grid: { stepMin: 1 },
    link,
  }
  const shortWaits = {
    ...limits,
    mode: 'automatic',
    probes: { ...(limits['probes'] as Text), conductivityMinDsPerM: 0.3 },
    water: { ...(limits['water'] as Text), flowSteadyMin: 0 },
    commands: { heartbeatAgeMaxS: 20, startWindowS: 20, reportGraceS: 30 },
    stocks: Object.fromEntries(
      // A bottle’s first shots would be too short to catch a pump in the middle of one.
      stocks.map(([stock, { bottle: _bottle, ...limit }]) => {
        const shotMaxMl = Math.min(Number(limit['shotMaxMl']), SHOT_MAX_ML)
        return [stock, { ...limit, shotMaxMl, ...calibratedWithin(limit, shotMaxMl) }]
      }),
    ),
    acid: { ...(limits['acid'] as Text), afterFlowMin: 0 },
  }
  const bench = layOut(hungry, shortWaits)
  write(bench.scenarioFile, {
    ...read('scenarios/quarry-lane.yaml'),
    site: 'site/site.yaml',
    nodes: plantOfSite(hungry, read('salts.yaml'), startMs).nodes?.map((node) => ({ ...node, scanMs: 5000 })),
    startsAt: new Date(startMs).toISOString().replace(/\.\d+Z$/, 'Z'),
  })
  return bench
}

/**
 * The example in automatic mode, as whoever keeps the second plant would write it down: its fill, and its iron in the
 * calcium stock. The crop is planted at `startMs`.
 */
export function secondBench(link: Text, startMs: number): BenchSite {
  const { site, limits } = example()
  const fill = site['firstFill'] as { elements: Text }
  const stocks = site['stocks'] as { id: string; salts?: readonly Text[] }[]
  const isIron = ({ salt }: Text) => String(salt).startsWith('iron')
  const iron = stocks.flatMap(({ salts }) => salts ?? []).filter(isIron)
  const second = {
    ...site,
    firstFill: { ...fill, elements: { ...fill.elements, 'NO3-N': 150, K: 200, Ca: 130 } },
    stocks: stocks.map((stock) => {
      if (!stock.salts) return stock
      const salts = stock.salts.filter((part) => !isIron(part))
      return { ...stock, salts: stock.id === 'calcium' ? [...salts, ...iron] : salts }
    }),
    cohorts: transplanted(site, startMs),
    link,
  }
  return layOut(second, { ...limits, mode: 'automatic' })
}

/** A run for a measuring glass may not be longer than a shot. */
function calibratedWithin({ calibration }: Text, shotMaxMl: number): Text {
  if (calibration === undefined) return {}
  const runs = calibration as Text
  return { calibration: { ...runs, runMaxMl: Math.min(Number(runs['runMaxMl']), shotMaxMl) } }
}

function example(): { readonly site: Text; readonly limits: Text } {
  return { site: read('example/site.yaml'), limits: read('example/limits.yaml') }
}

function transplanted(site: Text, atMs: number): Text[] {
  const transplantedOn = new Date(atMs).toISOString().slice(0, 10)
  return (site['cohorts'] as Text[]).map((cohort) => ({ ...cohort, transplantedOn }))
}

function layOut(site: Text, limits: Text): BenchSite {
  const folder = scratchFolder()
  mkdirSync(join(folder, 'site'))
  for (const file of ['crops.yaml', 'salts.yaml']) cpSync(join(ROOT, 'config', file), join(folder, file))
  write(join(folder, 'site/site.yaml'), site)
  write(join(folder, 'site/limits.yaml'), limits)
  return {
    folder,
    siteFile: join(folder, 'site/site.yaml'),
    scenarioFile: join(folder, 'scenario.yaml'),
    name: String(site['site']),
  }
}

function read(file: string): Text {
  return parse(readFileSync(join(ROOT, 'config', file), 'utf8')) as Text
}

function write(path: string, text: Text): void {
  writeFileSync(path, stringify(text))
}
