/** A day of the loop as plain text: a line an event, indented lines for what the loop did about it. */

import type { Effect } from '../../src/reservoir/effect.ts'
import type { Act, Input, Instruction, LaboratoryResult, ScanInput } from '../../src/reservoir/input.ts'
import type { Entry } from '../support/loop/bench.ts'

/** Events at which nothing happened but the closing of a grid step are left out, except what people and pumps said. */
export function writeDiary(title: string, story: string, entries: readonly Entry[]): string {
  const lines = [title, story, 'Times are UTC.', '']
  for (const { input, effects } of entries) {
    const done = effects.flatMap(tellEffect)
    if (done.length === 0 && isRoutine(input)) continue
    lines.push(`${clock(input.atMs)}  ${tellInput(input)}`, ...done.map((line) => `         ${line}`))
  }
  return `${lines.join('\n')}\n`
}

function isRoutine({ kind }: Input): boolean {
  return kind === 'scan' || kind === 'heartbeat' || kind === 'tick' || kind === 'edge'
}

function clock(atMs: number): string {
  return new Date(atMs).toISOString().slice(11, 16)
}

function tellInput(input: Input): string {
  switch (input.kind) {
    case 'start':
      return `The daemon starts, term ${input.term}.`
    case 'node-status':
      return `${input.node} says that it is ${input.status.online ? 'online' : 'offline'}, boot ${input.status.boot}.`
    case 'heartbeat':
      return `${input.node}: a heartbeat.`
    case 'scan':
      return `${input.node} reads ${tellReadings(input)}.`
    case 'pump-report': {
      const { id, state, ranMs, reason } = input.report
      return `${input.node} reports command ${id} ${state} after ${seconds(ranMs)}${reason ? `: ${reason}` : ''}.`
    }
    case 'laboratory-result':
      return `The laboratory’s result ${tellResult(input.result)}.`
    case 'laboratory-withdrawal':
      return `The laboratory takes its result ${input.id} back.`
    case 'laboratory-decision':
      return `${input.by} decides to ${input.decision} ${input.id}: ${input.reason}.`
    case 'spot-reading':
      return `${input.by} reads ${input.reading.quantity} ${input.reading.value} by hand at ${clock(input.reading.readAtMs)}.`
    case 'act':
      return `${input.by} ${tellAct(input.act)}.`
    case 'instruction':
      return `${input.by} says ${tellInstruction(input.instruction)}: ${input.reason}.`
    case 'edge':
      return `The edge tells: ${input.news.edge}.`
    case 'tick':
      return 'Time passes.'
  }
}

function tellReadings({ scan }: ScanInput): string {
  return scan.readings.map(({ id, value, unit }) => `${id} ${value.toPrecision(4)} ${unit}`).join(', ')
}

function tellResult({ id, sampledAtMs, values }: LaboratoryResult): string {
  const told = values.map((value) =>
    'mgPerL' in value ? `${value.element} ${value.mgPerL}` : `${value.element} below ${value.belowMgPerL}`,
  )
  return `${id} comes, of a bottle filled ${new Date(sampledAtMs).toISOString().slice(0, 16).replace('T', ' ')}: ${told.join(', ')} mg/L`
}

function tellAct(act: Act): string {
  const at = `at ${clock(act.doneAtMs)}`
  switch (act.act) {
    case 'salt-added':
      return `added ${act.massG} g of ${act.salt} ${at}`
    case 'drained':
      return `let ${act.volumeL} L go ${at}`
    case 'topped-up':
      return `poured in ${act.volumeL} L of water ${at}`
    case 'stock-refilled':
      return `mixed ${act.stock} anew ${at}`
    case 'bottle-weighed':
      return `weighed the bottle of ${act.stock} ${at}: ${act.massG} g`
    case 'changed':
      return `changed ${act.drainedL} L for ${act.filledL} L ${at}`
    case 'transplanted':
      return `transplanted ${act.plants} ${act.crop} ${at}`
    case 'rinsed':
      return `rinsed the system ${at}`
    case 'probe-checked':
      return `checked the probes in a known solution ${at}`
    case 'harvested':
      return `harvested ${act.cohort} ${at}`
    case 'noted':
      return `noted ${at}: ${act.text}`
  }
}

function tellInstruction(instruction: Instruction): string {
  const { instruction: what, ...rest } = instruction
  return [what, ...Object.values(rest)].join(' ')
}

/** Grid steps are closed every ten minutes and not told; a verdict and an instruction are told by their sentences. */
function tellEffect(effect: Effect): readonly string[] {
  switch (effect.kind) {
    case 'command': {
      const { id, pump, node, runMs, startBeforeUptimeMs } = effect.shot
      return [
        `command ${id}: ${pump} of ${node} runs ${seconds(runMs)}, started before its minute ${Math.floor(startBeforeUptimeMs / 60_000)} or never`,
      ]
    }
    case 'lease':
      return [`${effect.node} ${effect.allowed ? 'may' : 'may not'} run pumps: ${effect.why}`]
    case 'alarm':
      return [
        `alarm ${effect.alarm}: ${effect.state}${effect.state === 'unacknowledged' ? `, ${effect.priority}. ${effect.text}` : ''}`,
      ]
    case 'notification':
      return effect.event === 'instructed' ? [] : [effect.text]
    case 'record':
      return tellRecord(effect.record)
  }
}

function tellRecord(record: Extract<Effect, { kind: 'record' }>['record']): readonly string[] {
  switch (record.kind) {
    case 'planned':
      return record.notes.map((note) => `note: ${note}`)
    case 'node-boot':
      return [`${record.node} has started anew, boot ${record.boot}`]
    case 'judged':
      return record.verdict === 'refuse' ? [`refused by ${record.why.join(', ')}`] : []
    default:
      return []
  }
}

function seconds(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`
}
