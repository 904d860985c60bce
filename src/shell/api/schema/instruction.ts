/** A person’s word to the loop: hold without login; all else by role. */

import { z } from 'zod'
import { atMs, by, id, modeName, reason, taken } from './common.ts'
import { type Role, route } from './route.ts'

const say = <const Name extends string, Shape extends z.ZodRawShape>(instruction: Name, shape: Shape) =>
  z.strictObject({ instruction: z.literal(instruction), ...shape })

/** Everything a person may say. */
export const instruction = z
  .discriminatedUnion('instruction', [
    say('release', {}),
    say('acknowledge', { alarm: id }),
    say('shelve', { alarm: id, untilMs: atMs }),
    say('unshelve', { alarm: id }),
    say('approve', { planId: id }),
    say('mode', { mode: modeName }),
    say('reset', { trip: id }),
    say('calibrate', { probe: id, slope: z.number(), offset: z.number() }),
    say('pump-rate', { stock: id, rateMlPerMin: z.number().positive() }),
    say('sanitise', { phase: z.enum(['begin', 'end']) }),
    say('ration', { decision: z.enum(['approve', 'withdraw']) }),
    say('renewal', { decision: z.enum(['approve', 'decline', 'stop']), planId: id.optional() }),
    say('reset-learning', {}),
  ])
  .meta({ id: 'Instruction' })

export type InstructionBody = z.output<typeof instruction>

/** The least role for each; lowering the mode is less than raising it. */
export const INSTRUCTION_ROLE: Readonly<Record<InstructionBody['instruction'], Role>> = {
  release: 'grower',
  acknowledge: 'grower',
  shelve: 'grower',
  unshelve: 'grower',
  approve: 'grower',
  mode: 'grower',
  reset: 'technician',
  calibrate: 'technician',
  'pump-rate': 'technician',
  sanitise: 'technician',
  ration: 'technician',
  renewal: 'grower',
  'reset-learning': 'technician',
}

export const holdBody = z
  .strictObject({ by, reason: z.string().trim().min(1).max(300).default('held by a person') })
  .default({ reason: 'held by a person' })

export const instructionRoutes = {
  hold: route({
    method: 'POST',
    path: '/api/hold',
    role: 'anyone',
    summary: 'Stop all dosing at once. From this machine or the daemon’s own page without login; circulation goes on',
    body: holdBody,
    answers: { 200: { description: 'held', schema: z.object({ held: z.literal(true) }) } },
  }),
  instruction: route({
    method: 'POST',
    path: '/api/instruction',
    role: 'grower',
    summary:
      'Release, acknowledge, shelve, approve, lower the mode (grower); raise the mode, reset, calibrate, rates, sanitise, ration (technician)',
    body: z.strictObject({ by, reason, instruction }),
    answers: { 200: { description: 'in force and kept', schema: taken } },
    needsKey: true,
  }),
} as const
