/** What one scan and one grid step cost inside the loop, and what a season costs with the plant beside it. */

import { advance } from '../../src/core/estimate/advance.ts'
import { continueRerun, rerunFrom } from '../../src/core/estimate/history.ts'
import { takeScan } from '../../src/core/observe.ts'
import { foldSafety } from '../../src/reservoir/fold-safety.ts'
import { step } from '../../src/reservoir/step.ts'
import { runTrial } from '../../src/trial/run-trial.ts'
import { type LivedSite, liveLightSite, plantNamed } from './lived-site.ts'
import { type Figure, median, timesMs } from './measure.ts'

const RUNS = 25
const SEASON_DAYS = 56
const US_PER_MS = 1000
const RERUN_DAYS = 30
const RERUN_RUNS = 5
const DAY_MS = 86_400_000

export async function insideFigures(): Promise<readonly Figure[]> {
  const site = await liveLightSite(3)
  return [scanFigure(site), stepFigure(site), filterFigure(site), await rerunFigure(), await seasonFigure()]
}

/** Sensing and safety hear the same scan; windows are emptied every ten minutes, as a grid step does. */
function scanFigure({ settings, state, scans }: LivedSite): Figure {
  const { core } = state
  if (!core) throw new Error('the site has not started')
  const times = timesMs(RUNS, () => {
    let hears = core
    let safety = state.safety
    let closesAtMs = state.atMs + settings.core.grid.stepMs
    for (const scan of scans) {
      if (scan.atMs >= closesAtMs) {
        hears = core
        closesAtMs += settings.core.grid.stepMs
      }
      hears = takeScan(settings.core, hears, { atMs: scan.atMs, node: scan.node, readings: scan.scan.readings })
      safety = foldSafety(settings.limits, safety, scan).state
    }
  })
  const note = `median of ${RUNS} days of ${scans.length} scans`
  const value = (median(times) / scans.length) * US_PER_MS
  return { name: 'sensing and safety, one scan', value, unit: 'µs', goal: 20, note }
}

/** The same day of scans through the whole step: alarms, grid steps and plans are in it. */
function stepFigure({ settings, state, scans }: LivedSite): Figure {
  const times = timesMs(RUNS, () => {
    let now = state
    for (const scan of scans) now = step(settings, now, scan).state
  })
  const value = (median(times) / scans.length) * US_PER_MS
  const note = 'the same scans through step(): with alarms, the grid steps and the plans of a day'
  return { name: 'the whole step, one scan', value, unit: 'µs', note }
}

function filterFigure({ settings, state }: LivedSite): Figure {
  const { core } = state
  const first = core?.history.stretches[0]
  if (!core || !first) throw new Error('the site has no history')
  const steps = core.history.stretches.flatMap((stretch) => stretch.steps)
  const times = timesMs(RUNS, () => {
    let belief = first.start
    for (const grid of steps) belief = advance(settings.core, core.cohorts, belief, grid)
  })
  const value = (median(times) / steps.length) * US_PER_MS
  const note = `median of ${RUNS} passes over ${steps.length} steps of ${settings.core.grid.stepMs / 60_000} min`
  return { name: 'filter, one grid step', value, unit: 'µs', goal: 150, note }
}

/** A bottle of thirty days ago, in slices as the daemon runs them: user time, so that a busy machine tells the same. */
async function rerunFigure(): Promise<Figure> {
  const { settings, state } = await liveLightSite(RERUN_DAYS + 1)
  const { core } = state
  if (!core) throw new Error('the site has not started')
  const stepMs = settings.core.grid.stepMs
  const fromMs = core.open.fromMs - RERUN_DAYS * DAY_MS
  const times = Array.from({ length: RERUN_RUNS }, () => {
    let history = rerunFrom(core.history, fromMs)
    const beganUs = process.cpuUsage()
    while (history.rerun)
      history = continueRerun(settings.core, core.cohorts, history, settings.core.grid.slotsPerSlice)
    return process.cpuUsage(beganUs).user / 1e6
  })
  const note = `median of ${RERUN_RUNS}, user time, ${(RERUN_DAYS * DAY_MS) / stepMs} steps in slices of ${settings.core.grid.slotsPerSlice}`
  return { name: `${RERUN_DAYS} days run again`, value: median(times), unit: 's', goal: 1, note }
}

/** Everything but a wire and a disk; the plant’s own physics is in the time. */
async function seasonFigure(): Promise<Figure> {
  const { configuration, scenario } = await plantNamed('light')
  const setup = { configuration, scenario, controller: 'tarnward', days: SEASON_DAYS, seed: 1 } as const
  const seconds = [0, 1, 2].map(() => runTrial(setup, () => performance.now()).wallSeconds)
  const note = `median of ${seconds.length}, light site, seed 1, a scan a minute, plant included`
  return { name: `a season of ${SEASON_DAYS} days`, value: median(seconds), unit: 's', goal: 10, note }
}
