/**
 * `npm run bench`: what the daemon costs, each figure beside its goal. `-- --json` for machines, `-- start` for one part
 * alone, `-- estimate` for what the estimate is worth (see `estimate.ts`).
 */

import { cpus } from 'node:os'
import { estimateBench } from './estimate.ts'
import { insideFigures } from './inside.ts'
import { limitsBench } from './limits-model.ts'
import { type Figure, tableOf } from './measure.ts'
import { startUpFigures } from './start-up.ts'
import { wireFigures } from './wire.ts'

const PARTS = [
  ['inside', 'scan, step, filter and season', insideFigures],
  ['wire', 'scan to command over a broker', wireFigures],
  ['start', 'start and memory', startUpFigures],
] as const

const asked = process.argv.slice(2)
if (asked[0] === 'estimate') await estimateBench(asked.slice(1))
else if (asked[0] === 'limits') await limitsBench(asked.slice(1))
else await speedBench(asked)

/** `speeds`, or no word at all, takes every part. */
async function speedBench(words: readonly string[]): Promise<void> {
  const asJson = words.includes('--json')
  const parts = PARTS.filter(([name]) => words.includes(name))
  const figures: Figure[] = []
  for (const [, what, take] of parts.length > 0 ? parts : PARTS) {
    if (!asJson) process.stderr.write(`measuring ${what}\n`)
    figures.push(...(await take()))
  }
  const machine = { cpu: cpus()[0]?.model ?? 'unknown', cores: cpus().length, node: process.version }
  if (asJson) console.log(JSON.stringify({ machine, figures }))
  else console.log(`${tableOf(figures)}\n${machine.cores} × ${machine.cpu}, Node ${machine.node}`)
}
