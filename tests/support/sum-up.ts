/** The last line of `npm test`: `N passed, N failed`, from what vitest wrote down, with the slowest files above it. */

import { readFileSync } from 'node:fs'
import { relative } from 'node:path'
import { fileURLToPath } from 'node:url'

/** The part of vitest’s JSON report that is read here. */
export interface Report {
  readonly testResults: readonly FileResult[]
}

interface FileResult {
  readonly name: string
  readonly status: string
  readonly startTime: number
  readonly endTime: number
  readonly assertionResults: readonly { readonly status: string }[]
}

export interface Sum {
  readonly passed: number
  readonly failed: number
  readonly skipped: number
}

/**
 * Counts tests. A check that failed, a file that could not be loaded and a run that ended badly with no test to blame
 * are failures too, so that the line never looks better than the exit code.
 *
 * @param report undefined where vitest left none
 */
export function sumUp(report: Report | undefined, failedChecks: number, vitestExit: number): Sum {
  const files = report?.testResults ?? []
  const statuses = files.flatMap((file) => file.assertionResults.map((test) => test.status))
  const passed = statuses.filter((status) => status === 'passed').length
  const failedTests = statuses.filter((status) => status === 'failed').length
  const unloaded = files.filter((file) => file.status === 'failed' && !file.assertionResults.some(isFailed)).length
  const failed = failedTests + unloaded
  const unexplained = vitestExit !== 0 && failed === 0 ? 1 : 0
  return { passed, failed: failed + unexplained + failedChecks, skipped: statuses.length - passed - failedTests }
}

function isFailed(test: { readonly status: string }): boolean {
  return test.status === 'failed'
}

/** The line itself; what was skipped is named only where there is any. */
export function sumLine({ passed, failed, skipped }: Sum): string {
  return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`
}

function slowest(report: Report): string {
  const files = report.testResults.map((file) => ({ name: file.name, seconds: (file.endTime - file.startTime) / 1000 }))
  const shown = files.toSorted((a, b) => b.seconds - a.seconds).slice(0, 5)
  return `Slowest: ${shown.map(({ name, seconds }) => `${relative('.', name)} ${seconds.toFixed(1)} s`).join(', ')}`
}

function readReport(file: string): Report | undefined {
  try {
    return JSON.parse(readFileSync(file, 'utf8')) as Report
  } catch {
    return undefined
  }
}

function main([file = '', failedChecks = '0', vitestExit = '0']: readonly string[]): void {
  const report = readReport(file)
  const sum = sumUp(report, Number(failedChecks), Number(vitestExit))
  const mayNotSkip = process.env['CI'] === 'true' && sum.skipped > 0
  if (report) console.log(slowest(report))
  if (Number(failedChecks) > 0) console.log(`${failedChecks} of the checks above failed; each counts as one failure`)
  if (mayNotSkip) console.log(`On CI no test may be skipped: the ${sum.skipped} skipped count as failed`)
  const final = mayNotSkip ? { ...sum, failed: sum.failed + sum.skipped, skipped: 0 } : sum
  console.log(sumLine(final))
  process.exitCode = final.failed > 0 ? 1 : 0
}

if (process.argv[1] === fileURLToPath(import.meta.url)) main(process.argv.slice(2))
