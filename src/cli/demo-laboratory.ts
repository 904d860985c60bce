/** The laboratory of the demo: a bottle of the simulated reservoir, and days later a file such as one might send. */

import { writeFile } from 'node:fs/promises'
import { join, relative } from 'node:path'
import type { LaboratoryReport } from '../../simulator/laboratory.ts'
import type { World } from '../../simulator/world.ts'

const MINUTE_MS = 60_000
/** The bottle is filled in the morning. */
const HOUR = 8
/** Left to the bench after the report has come, so that the file is there when the page opens. */
const SPARE_DAYS = 1

/** The minute of the lived days at which the bottle is filled; undefined where its report could not come in time. */
export function bottleMinute(world: World, days: number): number | undefined {
  const day = Math.floor(days - world.scenario.laboratory.lateDays - SPARE_DAYS)
  return day < 0 ? undefined : (day * 24 + HOUR) * 60
}

/**
 * Writes the newest report that has come into a folder.
 *
 * @returns the command that gives it to the daemon; undefined where none has come
 */
export async function writeReport(world: World, folder: string, url: string): Promise<string | undefined> {
  const report = world.laboratoryReports(world.truth().atMs).at(-1)
  if (!report) return undefined
  const file = join(folder, `laboratory-${dayOf(report)}.csv`)
  await writeFile(file, reportText(report))
  const sampledAt = new Date(Math.floor(report.sampledAtMs / MINUTE_MS) * MINUTE_MS).toISOString()
  return `${thisCommand()} lab add ${file} --sampled-at ${sampledAt} --url ${url}`
}

/** As it was called, so that it can be copied: by its name where it is installed, else by its file. */
function thisCommand(): string {
  const called = process.argv[1] ?? ''
  return called.endsWith('.js') ? `node ${relative(process.cwd(), called)}` : 'tarnward'
}

function reportText(report: LaboratoryReport): string {
  const { values, conductivityDsPerM, ph, alkalinityMeqPerL } = report
  const rows = values.map((value) => {
    const figure = 'belowMgPerL' in value ? `<${value.belowMgPerL}` : value.mgPerL
    return `${value.element},${figure},mg/L`
  })
  return [
    `# A bottle of the simulated reservoir, filled on ${dayOf(report)}; the laboratory is simulated too.`,
    'Parameter,Result,Unit',
    `pH,${ph},`,
    `Electrical conductivity,${conductivityDsPerM},mS/cm`,
    `Alkalinity,${alkalinityMeqPerL},meq/L`,
    ...rows,
    '',
  ].join('\n')
}

function dayOf({ sampledAtMs }: LaboratoryReport): string {
  return new Date(sampledAtMs).toISOString().slice(0, 10)
}
