/** Ways in for what people say and do: hold, instructions, acts, withdrawals, spot readings. */

import { type ElementName, isElementName } from '../../../chemistry/element.ts'
import type { Act, Instruction } from '../../../reservoir/input.ts'
import type { Clock } from '../../clock.ts'
import type { DaemonView, InstructionAnswer } from '../../daemon-view.ts'
import { type Caller, isEnough } from '../access/access.ts'
import { isNear, refusalFor } from '../access/guard.ts'
import { createRate } from '../access/rate.ts'
import { ROUTES } from '../schema/index.ts'
import { INSTRUCTION_ROLE, type InstructionBody } from '../schema/instruction.ts'
import type { Role } from '../schema/route.ts'
import type { Answered, Serve } from '../serve.ts'

/** Who is written into the ledger: a token’s own name first, what a person merely says of themselves beside it. */
export function signed(caller: Caller, by: string | undefined): string {
  if (caller.by === 'local-key') return by ?? 'command line'
  if (caller.by === 'nothing') return `${by ?? 'somebody'} (not signed in)`
  return by === undefined || by === caller.name ? caller.name! : `${by} (as ${caller.name})`
}

/** A person who sees something wrong may press more than once; a program may not make a ledger of it. Chosen. */
const HOLDS = { burst: 10, perSecond: 0.5 }

export function servePeople(serve: Serve, view: DaemonView, clock: Clock): void {
  serveHold(serve, view, clock)
  serveFindings(serve, view, clock)
  serve(ROUTES.instruction.instruction, async ({ caller, body }) => {
    const needed = roleFor(body.instruction, view)
    if (!isEnough(caller.role, needed)) {
      const { status, detail } = refusalFor(caller, needed)
      return { status, refused: detail }
    }
    const read = toInstruction(body.instruction)
    if (!read) return { status: 501, refused: `This daemon does not know ${body.instruction.instruction} yet.` }
    return said(`The ${read.instruction}`, await view.instruct(signed(caller, body.by), body.reason, read))
  })
  serve(ROUTES.act.act, async ({ caller, body }) => {
    const act = toAct(body.act, clock.wallMs())
    if (!act) return { status: 501, refused: `This daemon does not know the act ${body.act.act} yet.` }
    return said(`The act ${act.act}`, await view.tell({ kind: 'act', by: signed(caller, body.by), act }))
  })
}

const MEASURED = ['conductivity', 'ph'] as const

function serveFindings(serve: Serve, view: DaemonView, clock: Clock): void {
  serve(ROUTES.laboratory.withdraw, async ({ caller, params, body }) => {
    const by = `${signed(caller, body.by)}: ${body.reason}`
    return said('The withdrawal', await view.tell({ kind: 'laboratory-withdrawal', by, id: params.id }))
  })
  serve(ROUTES.laboratory.decision, async ({ caller, params, body }) => {
    const { reason, decision } = body
    const by = signed(caller, body.by)
    const input = { kind: 'laboratory-decision', by, reason, id: params.id, decision } as const
    return said('The decision', await view.tell(input))
  })
  serve(ROUTES.laboratory.spot, async ({ caller, body }) => {
    const { quantity, value, sd, readAtMs } = body
    const measured = MEASURED.find((one) => one === quantity)
    if (measured === undefined && !isElementName(quantity))
      return {
        status: 422,
        refused: `${quantity} is nothing that is tracked: an element such as K or NO3-N, conductivity or ph.`,
      }
    const reading = { quantity: measured ?? (quantity as ElementName), value, readAtMs: readAtMs ?? clock.wallMs() }
    const input = { ...reading, ...(sd === undefined ? {} : { sd }) }
    const by = signed(caller, body.by)
    return said('The reading', await view.tell({ kind: 'spot-reading', by, reading: input }))
  })
}

/** No login near by: whoever sees that something is wrong must be able to stop it. From afar a token is needed. */
function serveHold(serve: Serve, view: DaemonView, clock: Clock): void {
  const rate = createRate({ ...HOLDS, monoMs: () => clock.monoMs() })
  serve(ROUTES.instruction.hold, async ({ caller, body, request }) => {
    if (caller.by === 'nothing' && !isNear(request)) return { status: 401, refused: FAR }
    if (!rate.take(request.ip)) return { status: 429, refused: 'Held already some times; wait some seconds.' }
    const answer = await view.instruct(signed(caller, body.by), body.reason, { instruction: 'hold' })
    return answer.kind === 'taken' ? { status: 200, json: { held: true } } : said('The hold', answer)
  })
}

const FAR =
  'From another machine a hold needs a token, or the daemon’s own page. At the bench: its hold switch, or the plug of the pumps.'

/** Raising the mode lets pumps run, so it needs more than lowering it. */
function roleFor(instruction: InstructionBody, view: DaemonView): Role {
  if (instruction.instruction !== 'mode') return INSTRUCTION_ROLE[instruction.instruction]
  const order = ['observe', 'advise', 'automatic']
  return order.indexOf(instruction.mode) > order.indexOf(view.status().mode) ? 'technician' : 'grower'
}

function said(what: string, answer: InstructionAnswer): Answered {
  if (answer.kind === 'taken') return { status: 200, json: { taken: true } }
  return { status: answer.kind === 'refused' ? 422 : 503, refused: `${what} is not in force: ${answer.why}.` }
}

/** Undefined for what the loop does not know. */
function toInstruction(body: InstructionBody): Instruction | undefined {
  switch (body.instruction) {
    case 'release':
    case 'acknowledge':
    case 'approve':
    case 'mode':
    case 'reset':
    case 'calibrate':
    case 'pump-rate':
    case 'sanitise':
    case 'reset-learning':
    case 'ration':
    case 'shelve':
    case 'unshelve':
      return body
    default:
      return undefined
  }
}

type ActBody = (typeof ROUTES.act.act.body)['_output']['act']

function toAct(body: ActBody, nowMs: number): Act | undefined {
  const doneAtMs = body.doneAtMs ?? nowMs
  switch (body.act) {
    case 'salt-added':
    case 'drained':
    case 'topped-up':
    case 'transplanted':
    case 'harvested':
    case 'rinsed':
    case 'noted':
      return { ...body, doneAtMs }
    case 'probe-checked':
      return { act: body.act, doneAtMs }
    case 'bottle-weighed':
      return { ...body, doneAtMs }
    case 'changed': {
      const { fill, ...rest } = body
      return { ...rest, doneAtMs, ...(fill === undefined ? {} : { fill }) }
    }
    case 'stock-refilled': {
      const { act, stock, volumeMl, batch, batchStrength: strength } = body
      const mixed = {
        ...(batch === undefined ? {} : { label: batch }),
        ...(strength === undefined ? {} : { strength }),
      }
      return { act, stock, volumeMl, doneAtMs, ...(Object.keys(mixed).length > 0 ? { batch: mixed } : {}) }
    }
    default:
      return undefined
  }
}
