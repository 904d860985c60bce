import type { Problem } from '../../shell/api/schema/common.ts'

/** A request that was refused or never arrived, in words that can be shown as they are. */
export class RequestFailure extends Error {
  readonly status: number
  readonly lines: readonly string[]

  /** @param status of HTTP; 0 where no answer came */
  constructor(status: number, lines: readonly string[]) {
    super(lines[0] ?? `The daemon answered ${status}.`)
    this.status = status
    this.lines = lines
  }
}

/** The reasons of a failure as lines for a person. */
export function reasonsOf(failure: unknown): readonly string[] {
  if (failure instanceof RequestFailure) return failure.lines
  return [failure instanceof Error ? failure.message : String(failure)]
}

/** Reads a refused answer (RFC 9457); one without a readable body still says its number. */
export async function failureOf(response: Response): Promise<RequestFailure> {
  const body: unknown = await response.json().catch(() => null)
  return new RequestFailure(response.status, linesOf(body, response.status))
}

function linesOf(body: unknown, status: number): readonly string[] {
  if (typeof body !== 'object' || body === null) return [`The daemon answered ${status}.`]
  const { detail, title, errors = [], faults = [] } = body as Partial<Problem>
  const told = faults.map(({ place, found, allowed }) => `${place}: found ${found}, allowed is ${allowed}`)
  return [detail ?? title ?? `The daemon answered ${status}.`, ...(told.length > 0 ? told : errors)]
}
