/** Tells each mutant that survives as soon as it does, so that a run that is broken off keeps what it found. */

import { readFileSync } from 'node:fs'
import { relative } from 'node:path'
import { type MutantResult, PlanKind } from '@stryker-mutator/api/core'
import { declareClassPlugin, PluginKind } from '@stryker-mutator/api/plugin'
import type { MutationTestingPlanReadyEvent, Reporter } from '@stryker-mutator/api/report'

/** How often a run says how far it is, so that one that is broken off can be told of too. */
const TELL_EVERY = 250

const EQUIVALENT = 'tests/mutation/equivalent.md'

interface Tally {
  killed: number
  timedOut: number
  alive: number
  equivalent: number
  ms: number
}

class Survivors implements Reporter {
  readonly #tallies = new Map<string, Tally>()
  readonly #equivalent = readFileSync(EQUIVALENT, 'utf8')
  #lastMs = performance.now()
  #wanted = 0
  #asked = 0

  onMutationTestingPlanReady({ mutantPlans }: MutationTestingPlanReadyEvent): void {
    this.#lastMs = performance.now()
    this.#wanted = mutantPlans.filter(({ plan }) => plan === PlanKind.Run).length
  }

  onMutantTested(result: Readonly<MutantResult>): void {
    if (result.status === 'Ignored') return
    this.#tellHowFar(result)
    const file = relative(process.cwd(), result.fileName)
    const nowMs = performance.now()
    const tally = this.#tallies.get(file) ?? { killed: 0, timedOut: 0, alive: 0, equivalent: 0, ms: 0 }
    this.#tallies.set(file, tally)
    tally.ms += nowMs - this.#lastMs
    this.#lastMs = nowMs
    if (result.status === 'Killed' || result.status === 'RuntimeError') tally.killed += 1
    if (result.status === 'Timeout') {
      tally.timedOut += 1
      console.log(`${file}:${result.location.start.line}  ${changeOf(file, result)}  (runs without end: killed)`)
    }
    if (result.status !== 'Survived' && result.status !== 'NoCoverage') return
    const change = changeOf(file, result)
    const isListed = this.#equivalent.includes(`\`${file}\` | \`${change}\``)
    if (isListed) tally.equivalent += 1
    else {
      tally.alive += 1
      console.log(
        `${file}:${result.location.start.line}  ${change}${result.status === 'NoCoverage' ? '  (no test reaches it)' : ''}`,
      )
    }
  }

  #tellHowFar({ status }: Readonly<MutantResult>): void {
    if (status === 'NoCoverage') return
    this.#asked += 1
    if (this.#asked % TELL_EVERY === 0) console.log(`${this.#asked} of ${this.#wanted} asked`)
  }

  onMutationTestReportReady(): void {
    console.log('\nfile, mutants, killed (of these by running without end), equivalent, alive, seconds')
    for (const [file, { killed, timedOut, alive, equivalent, ms }] of this.#tallies) {
      const all = killed + timedOut + alive + equivalent
      console.log(
        `${file}  ${all}  ${killed + timedOut} (${timedOut})  ${equivalent}  ${alive}  ${Math.round(ms / 1000)}`,
      )
    }
    if ([...this.#tallies.values()].some(({ alive }) => alive > 0)) process.exitCode = 1
  }
}

/** `what stood there → what was put`, each on one line. */
function changeOf(file: string, { location, replacement }: Readonly<MutantResult>): string {
  const lines = readFileSync(file, 'utf8').split('\n')
  const { start, end } = location
  const text = lines.slice(start.line - 1, end.line)
  text[text.length - 1] = text.at(-1)!.slice(0, end.column - 1)
  text[0] = text[0]!.slice(start.column - 1)
  return `${onOneLine(text.join('\n'))} → ${onOneLine(replacement ?? '')}`
}

function onOneLine(text: string): string {
  return text.replaceAll(/\s+/g, ' ').trim()
}

export const survivors = declareClassPlugin(PluginKind.Reporter, 'survivors', Survivors)
