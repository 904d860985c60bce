/** The desk’s questions; none of them touches the reservoir. */

import type { Desk, DeskAnswer } from '../desk.ts'
import { ROUTES } from '../schema/index.ts'
import type { Answered, Serve } from '../serve.ts'

export function serveDesk(serve: Serve, desk: Desk): void {
  serve(ROUTES.desk.choices, async () => ({ status: 200, json: await desk.choices() }))
  serve(ROUTES.desk.water, async ({ body }) => told(await desk.water(body)))
  serve(ROUTES.desk.recipe, async ({ body }) => told(await desk.recipe(body)))
  serve(ROUTES.desk.stocks, async ({ body }) => told(await desk.stocks(body)))
  serve(ROUTES.desk.amend, async ({ body }) => told(await desk.amend(body)))
}

function told(answer: DeskAnswer): Answered {
  if (answer.kind === 'answer') return { status: 200, json: answer.json }
  return { status: 422, refused: answer.why, errors: answer.why.split('\n') }
}
