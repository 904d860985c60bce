/** What the daemon answers when it refuses: RFC 9457, with the single reasons where there are several. */
export interface Problem {
  readonly status: number
  readonly title: string
  readonly reasons: readonly string[]
}

/** A request that was refused or never arrived, in words that can be shown as they are. */
export class RequestFailure extends Error {
  readonly problem: Problem

  constructor(problem: Problem) {
    super(problem.title)
    this.problem = problem
  }
}

/** The reasons of a failure as lines for a person. */
export function reasonsOf(failure: unknown): readonly string[] {
  if (failure instanceof RequestFailure) return [failure.problem.title, ...failure.problem.reasons]
  return [failure instanceof Error ? failure.message : String(failure)]
}

/** Reads a refused answer; one without a readable body still says its number. */
export async function problemOf(response: Response): Promise<Problem> {
  const body: unknown = await response.json().catch(() => null)
  const { detail, title, reasons } = fieldsOf(body)
  const text = detail ?? title ?? `The daemon answered ${response.status}.`
  return { status: response.status, title: text, reasons }
}

function fieldsOf(body: unknown): { detail?: string; title?: string; reasons: readonly string[] } {
  if (typeof body !== 'object' || body === null) return { reasons: [] }
  const { detail, title, reasons, errors } = body as Record<string, unknown>
  const list = Array.isArray(reasons) ? reasons : Array.isArray(errors) ? errors : []
  return {
    ...(typeof detail === 'string' ? { detail } : {}),
    ...(typeof title === 'string' ? { title } : {}),
    reasons: list.filter((reason) => typeof reason === 'string'),
  }
}
