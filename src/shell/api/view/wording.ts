/** Acts and instructions in a few words. */

import type { Act, Instruction } from '../../../reservoir/input.ts'

export function actText(act: Act): string {
  switch (act.act) {
    case 'salt-added':
      return `${act.massG} g of ${act.salt} weighed in`
    case 'drained':
      return `${act.volumeL} L let go`
    case 'topped-up':
      return `${act.volumeL} L of source water added by hand`
    case 'stock-refilled':
      return `${act.stock} refilled to ${act.volumeMl} mL${batchText(act.batch)}`
    case 'transplanted':
      return `${act.plants} ${act.crop} transplanted as ${act.cohort}`
    case 'harvested':
      return `${act.cohort} harvested`
    case 'noted':
      return act.text
    default:
      return fieldsText(act)
  }
}

/** How strong it was mixed, where that is not as its recipe says, and what the mixing was called. */
function batchText(batch: Extract<Act, { act: 'stock-refilled' }>['batch']): string {
  const strength = batch?.strength === undefined ? '' : `, mixed at ${Number((100 * batch.strength).toPrecision(4))} %`
  return `${strength}${batch?.label === undefined ? '' : `, ${batch.label}`}`
}

export function instructionText(instruction: Instruction): string {
  if (instruction.instruction === 'limit') return `limit ${instruction.limit} set to ${instruction.value}`
  if (instruction.instruction === 'pump-run') {
    const { stock, runMs, withWater } = instruction
    return `pump of ${stock} run for ${runMs / 1000} s with ${withWater ? 'water' : 'its stock'}`
  }
  const { instruction: name, ...rest } = instruction
  return [name, ...Object.values(rest)].join(' ')
}

/** What has no words of its own yet is told by its fields. */
function fieldsText(act: Act): string {
  const { act: name, doneAtMs: _when, ...rest } = act
  return [
    name.replaceAll('-', ' '),
    ...Object.values(rest).map((value) => (typeof value === 'object' ? JSON.stringify(value) : String(value))),
  ].join(' ')
}
